"""The shared definition of the waveform answer: v1 float64 array at fs. Urms(1/2): one-cycle r.m.s. refreshed each half cycle on a fixed grid from the
first fundamental zero crossing; the grid keeps running through the dropout (the period is measured before it)."""

import numpy as np

UDIN = 120.0


def answer(v, fs, t0):
    n = int(fs * 0.2)
    seg = v[:n]
    s = np.where(seg > 10, 1, np.where(seg < -10, -1, 0))
    idx = np.flatnonzero(s)
    q = s[idx]
    k = np.flatnonzero((q[:-1] < 0) & (q[1:] > 0))
    z = 0.5 * (idx[k] + idx[k + 1])
    P = (z[-1] - z[0]) / (z.size - 1)
    m = int((v.size - z[0]) // (P / 2))
    b = np.rint(z[0] + np.arange(m + 1) * P / 2).astype(np.int64)
    b = b[b <= v.size]
    half = np.add.reduceat(np.square(v[: b[-1]]), b[:-1])
    L = np.diff(b)
    u = np.sqrt((half[:-1] + half[1:]) / (L[:-1] + L[1:]))
    low = np.flatnonzero(u < 0.9 * UDIN)
    dip = None
    if low.size:
        a = int(low[0])
        r = np.flatnonzero(u[a:] >= 0.92 * UDIN)
        e = a + int(r[0]) if r.size else u.size
        dip = {
            "start_s": float(t0 + b[a] / fs),
            "duration_ms": float((b[e] - b[a]) / fs * 1e3),
            "residual_v": float(u[a:e].min()),
        }
    lo = np.abs(v) < 0.1 * np.sqrt(2) * UDIN
    d = np.diff(lo.view(np.int8), prepend=np.int8(0), append=np.int8(0))
    st = np.flatnonzero(d == 1)
    en = np.flatnonzero(d == -1)
    j = int(np.argmax(en - st))
    return {
        "rows": int(v.size),
        "freq_hz": float(fs / P),
        "n_urms": int(u.size),
        "urms_first": float(u[0]),
        "urms_mean": float(u.mean()),
        "urms_min": float(u.min()),
        "urms_max": float(u.max()),
        "dip": dip,
        "gap_ms": float((en[j] - st[j]) / fs * 1e3),
        "gap_start_s": float(t0 + st[j] / fs),
    }


def header(path):
    """lines before the data, sample rate"""
    fs = None
    with open(path, "rb") as f:
        for i, line in enumerate(f, 1):
            c = line.decode().strip().split(",")
            if c[0] == "Sample Interval":
                fs = 1 / float(c[1])
            if c[0] == "TIME":
                return i, fs
