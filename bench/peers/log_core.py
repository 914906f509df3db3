"""The shared definition of the meter-log answer, from columns already parsed (t in ms int64)."""

import numpy as np

GAP_MS, ON_W, CUT_MS = 5000, 5.0, 60_000


def answer(t, volts, amps, watts, kwh):
    dt = np.diff(t)
    ok = dt <= GAP_MS
    e = 0.5 * (watts[1:] + watts[:-1]) * dt
    wh = float(e[ok].sum()) / 3.6e6
    on = watts >= ON_W
    # cut-off: the first sample of the first run of 'off' samples that lasts at least CUT_MS (to the next 'on' sample, or the end of the log), after some 'on'
    ch = np.flatnonzero(on[1:] != on[:-1]) + 1
    starts = ch[~on[ch]]
    cut = -1
    ends = ch[on[ch]]
    for s in starts:
        j = np.searchsorted(ends, s)
        tend = t[ends[j]] if j < ends.size else t[-1]
        if tend - t[s] >= CUT_MS:
            cut = int(s)
            break
    wh_cut = float(e[:cut][ok[:cut]].sum()) / 3.6e6 if cut >= 0 else None
    st = lambda x: {"min": float(x.min()), "mean": float(x.mean()), "max": float(x.max())}
    return {
        "rows": int(t.size),
        "wh": wh,
        "gaps": int((~ok).sum()),
        "gap_s": float(dt[~ok].sum()) / 1e3,
        "cutoff": str(np.datetime64(int(t[cut]), "ms")) if cut >= 0 else None,
        "wh_to_cutoff": wh_cut,
        "meter_wh": round(float(kwh[-1] - kwh[0]) * 1000, 3),
        "volts": st(volts),
        "amps": st(amps),
        "watts": st(watts),
    }
