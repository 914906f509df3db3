#!/usr/bin/env python3
"""Deterministic inputs (fixed seeds). usage: data.py FOLDER [--scale full|quick|all]
Writes plain CSV / npy / json and OUTDIR/manifest.json (bytes, rows, sha256, the truth that was put in)."""

import sys, os, json, hashlib, math, time
import numpy as np, numba as nb


@nb.njit(inline="always")
def rnd(s):  # xorshift64*, state in s[0]
    x = s[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    s[0] = x
    return (x * np.uint64(2685821657736338717)) >> np.uint64(32)


@nb.njit(inline="always")
def bell(s):  # integer, mean 0, sd about 1000 * 0.577 (sum of 4 uniforms -500..499)
    t = 0
    for _ in range(4):
        t += np.int64(rnd(s) % np.uint64(1000)) - 500
    return t


@nb.njit
def put_uint(b, o, v, width):  # zero-padded to width (0: no padding)
    n = 1
    w = v
    while w >= 10:
        w //= 10
        n += 1
    if n < width:
        n = width
    for k in range(n - 1, -1, -1):
        b[o + k] = 48 + v % 10
        v //= 10
    return o + n


@nb.njit
def put_fixed(b, o, v, dec):  # v = value * 10**dec, integer
    if v < 0:
        b[o] = 45
        o += 1
        v = -v
    p = 10**dec
    o = put_uint(b, o, v // p, 1)
    b[o] = 46
    o += 1
    return put_uint(b, o, v % p, dec)


@nb.njit
def put_iso(b, o, ms):  # ms since midnight of 2026-03-14
    day = ms // 86400000
    r = ms - day * 86400000
    o = put_uint(b, o, 2026, 4)
    b[o] = 45
    o += 1
    o = put_uint(b, o, 3, 2)
    b[o] = 45
    o += 1
    o = put_uint(b, o, 14 + day, 2)
    b[o] = 84
    o += 1
    o = put_uint(b, o, r // 3600000, 2)
    b[o] = 58
    o += 1
    o = put_uint(b, o, r // 60000 % 60, 2)
    b[o] = 58
    o += 1
    o = put_uint(b, o, r // 1000 % 60, 2)
    b[o] = 46
    o += 1
    return put_uint(b, o, r % 1000, 3)


@nb.njit
def put_sci(b, o, v):  # 6 significant digits, as d.dddddE+xx ; v in units of 1e-4
    if v < 0:
        b[o] = 45
        o += 1
        v = -v
    if v == 0:
        for c in (48, 46, 48, 48, 48, 48, 48, 69, 43, 48, 48):
            b[o] = c
            o += 1
        return o
    e = -4
    w = v
    while w >= 10:
        w //= 10
        e += 1
    m = v
    k = e + 4  # digits after the first
    while k < 5:
        m *= 10
        k += 1
    while k > 5:
        m //= 10
        k -= 1
    o = put_uint(b, o, m // 100000, 1)
    b[o] = 46
    o += 1
    o = put_uint(b, o, m % 100000, 5)
    b[o] = 69
    o += 1
    if e < 0:
        b[o] = 45
    else:
        b[o] = 43
    return put_uint(b, o + 1, abs(e), 2)


@nb.njit
def log_chunk(b, i0, i1, n, step_ms, jit_ms, st, s, gaps):
    """st: 0 t_ms, 1 energy in mW*ms/... (dW*ms), 2 last dW, 3 cut t_ms, 4 off-until t_ms ; steps of load every 20 min"""
    o = 0
    levels = np.array([600, 1500, 3000, 6000, 9000, 12000, 4000, 2200])
    cut_row = int(n * 0.93)
    false_row = int(n * 0.5)
    for i in range(i0, i1):
        dt = step_ms
        if jit_ms > 0:
            dt += np.int64(rnd(s) % np.uint64(2 * jit_ms + 1)) - jit_ms
        for g in range(gaps.shape[0]):
            if gaps[g, 0] == i:
                dt += gaps[g, 1]
        if i == 0:
            dt = 0
        t = st[0] + dt
        if i == false_row:
            st[4] = t + 45000  # dark for 45 s: not a cut-off
        if i % (n // 7) == n // 11:
            st[4] = max(st[4], t + 300 if step_ms < 300 else t + 2000)  # brief dropouts
        lvl = levels[(t // 1200000) % 8]
        if i >= cut_row:
            if i == cut_row:
                st[3] = t
            w = 0
            v = np.int64(rnd(s) % np.uint64(30))
        elif t < st[4]:
            w = np.int64(rnd(s) % np.uint64(8))
            v = np.int64(rnd(s) % np.uint64(30))
        else:
            w = lvl + bell(s) * lvl // 200000
            v = 12000 - lvl // 60 + bell(s) // 40
        if w < 0:
            w = 0
        a = 10000 * w // v if v > 100 else 0
        st[1] += (w + st[2]) * dt // 2
        st[2] = w
        st[0] = t
        o = put_iso(b, o, t + 6 * 3600000)
        b[o] = 44
        o += 1
        o = put_fixed(b, o, v, 2)
        b[o] = 44
        o += 1
        o = put_fixed(b, o, a, 3)
        b[o] = 44
        o += 1
        o = put_fixed(b, o, w, 1)
        b[o] = 44
        o += 1
        o = put_fixed(b, o, st[1] // 36000000, 3)
        b[o] = 10
        o += 1  # dW*ms -> Wh (integer) -> kWh with 3 decimals
    return o


def gen_log(path, n, step, jit, seed, gap_n=12):
    s = np.array([seed], np.uint64)
    st = np.zeros(5, np.int64)
    rows = (np.linspace(0.03, 0.9, gap_n) * n).astype(np.int64)
    gaps = np.stack([rows, 6000 + 1000 * (np.arange(gap_n) * 37 % 115)], 1)
    C = 1_000_000
    b = np.empty(C * 64, np.uint8)
    with open(path, "wb") as f:
        f.write(b"time,volts,amps,watts,kwh\n")
        for i in range(0, n, C):
            o = log_chunk(b, i, min(n, i + C), n, step, jit, st, s, gaps)
            f.write(b[:o].tobytes())
    return {"rows": n, "gaps_put_in": gap_n, "cutoff_ms_from_start": int(st[3]), "meter_wh": int(st[1] // 36000000)}


@nb.njit
def wave_chunk(b, i0, i1, f0, gap0, gap1, s):
    o = 0
    for i in range(i0, i1):
        t = i * 1e-6
        ph = 2 * math.pi * f0 * t + 0.7
        if i < gap0:
            v1 = 169.7 * math.sin(ph) + 2.1 * math.sin(3 * ph) + 1.4 * math.sin(5 * ph)
        elif i < gap1:
            v1 = 0.0
        else:
            v1 = 166.2 * math.sin(2 * math.pi * 60.0 * t + 0.2) + 1.1 * math.sin(3 * (2 * math.pi * 60.0 * t + 0.2))
        v2 = 170.1 * math.sin(ph + 0.01) if i < gap0 - 40 else 0.0
        # 12-bit converter, 0.125 V a step
        a1 = np.int64(math.floor(v1 * 8 + 0.5)) + bell(s) // 500
        a2 = np.int64(math.floor(v2 * 8 + 0.5)) + bell(s) // 500
        o = put_fixed(b, o, i - 100000, 6)
        b[o] = 44
        o += 1
        o = put_sci(b, o, a1 * 1250)
        b[o] = 44
        o += 1
        o = put_sci(b, o, a2 * 1250)
        b[o] = 13
        b[o + 1] = 10
        o += 2
    return o


def gen_wave(path, n, seed):
    s = np.array([seed], np.uint64)
    g0 = int(n * 0.46858)
    g1 = g0 + 14630
    hdr = [
        "Record Length,%d" % n,
        "Sample Interval,1.000000E-06,s",
        "Trigger Sample,100000",
        "Horizontal Units,s",
        "Source,CH1,CH2",
        "Vertical Units,V,V",
        "Probe Attenuation,2.00000E+02,2.00000E+02",
        "Vertical Scale,5.00000E+01,5.00000E+01",
        "Vertical Offset,0.00000E+00,0.00000E+00",
        "Coupling,DC,DC",
        "Captured,14/03/2026 09:12:44",
        'Note,"transfer test, 300 W load"',
        "",
        "TIME,CH1,CH2",
    ]
    C = 1_000_000
    b = np.empty(C * 64, np.uint8)
    with open(path, "wb") as f:
        f.write(("\r\n".join(hdr) + "\r\n").encode())
        for i in range(0, n, C):
            o = wave_chunk(b, i, min(n, i + C), 59.98, g0, g1, s)
            f.write(b[:o].tobytes())
    return {"rows": n, "header_lines": len(hdr), "gap_ms_put_in": 14.63, "gap_start_s": (g0 - 100000) * 1e-6}


def gen_spec(path, n, seed):
    g = np.random.Generator(np.random.PCG64(seed))
    fs = 1e6
    a = np.lib.format.open_memmap(path, "w+", np.float32, (n,))
    H = {3: 0.021, 5: 0.013, 7: 0.008, 9: 0.004, 11: 0.006, 13: 0.003, 17: 0.002, 23: 0.0015, 35: 0.001, 49: 0.0008}
    C = 1_000_000
    for i in range(0, n, C):
        t = np.arange(i, min(n, i + C)) / fs
        w = 2 * np.pi * 50 * t
        y = np.sin(w)
        for h, k in H.items():
            y += k * np.sin(h * w + 0.3 * h)
        a[i : i + C] = 325.27 * y + (g.integers(0, 1 << 16, t.size) / 65536 - 0.5) * 2
    a.flush()
    return {"rows": n, "fs": fs, "thd_put_in_pct": 100 * math.sqrt(sum(k * k for k in H.values()))}


def gen_cohort(path, units, seed):
    g = np.random.Generator(np.random.PCG64(seed))
    P = np.array([60, 120, 250, 400, 600, 900, 1200, 1500.0])
    with open(path, "w") as f:
        f.write("unit,run,power_w,runtime_h,u_runtime_h\n")
        for u in range(units):
            E = 300 + (g.integers(0, 10**6) / 1e6) * 3500
            idle = 4 + (g.integers(0, 10**6) / 1e6) * 16
            a = idle / E
            bb = 1.06 / E
            c = 4e-5 / E
            for r, p in enumerate(P):
                t = 1 / (a + bb * p + c * p * p)
                ut = 0.012 * t + 0.003
                z = (g.integers(0, 1000, 4).sum() - 1998) / 577.0
                f.write(f"u{u:03d},{r+1},{p:.0f},{t + z*ut:.5f},{ut:.5f}\n")
    return {"units": units, "runs": 8 * units}


def gen_sim(d, units, seed):
    g = np.random.Generator(np.random.PCG64(seed))
    M = 7 * 1440
    m = np.arange(M)
    h = (m % 1440) / 60
    load = (
        90
        + 60 * ((m // 9) % 3 == 0)
        + 350 * ((h > 6.5) & (h < 8))
        + 500 * ((h > 17.5) & (h < 21)) * ((m // 7) % 2)
        + 1100 * ((m % 1440) % 479 < 11)
        + g.integers(0, 40, M)
    )
    cloud = np.repeat(g.integers(20, 101, M // 30), 30) / 100
    sun = (
        np.clip(np.sin((h - 6.2) / 12.1 * np.pi), 0, None) * ((h > 6.2) & (h < 18.3)) * cloud
    )  # per-unit of array rating
    with open(f"{d}/sim_profile.csv", "w") as f:
        f.write("minute,load_w,solar_pu\n")
        f.writelines(f"{i},{load[i]:.0f},{sun[i]:.4f}\n" for i in range(M))
    with open(f"{d}/sim_units.csv", "w") as f:
        f.write("unit,capacity_wh,rated_w,idle_w,loss_b,loss_c,solar_in_w,solar_eff,charge_max_w,array_w\n")
        for u in range(units):
            k = g.integers(0, 10**6, 6) / 1e6
            f.write(
                f"u{u:03d},{500+k[0]*4000:.1f},{400+k[1]*2600:.0f},{4+k[2]*16:.2f},{.04+k[3]*.08:.4f},{2e-5+k[4]*4e-5:.7f},{200+k[5]*1000:.0f},{.90+k[2]*.07:.4f},{200+k[0]*1400:.0f},{300+k[5]*900:.0f}\n"
            )
    return {"units": units, "minutes": M}


def gen_pub(path, units, seed):
    g = np.random.Generator(np.random.PCG64(seed))
    out = []
    kinds = [
        ("Output power against time", "h", "W"),
        ("State of charge", "h", "%"),
        ("Energy by load", "W", "Wh"),
        ("Recharge power", "min", "W"),
        ("Transfer voltage", "ms", "V"),
        ("Noise against load", "W", "dB"),
    ]
    for u in range(units):
        ch = []
        for k, (t, x, y) in enumerate(kinds):
            s = np.cumsum(g.integers(-50, 51, 200)) / 10 + 100 + 10 * k
            ch.append(
                {
                    "title": t,
                    "x": x,
                    "y": y,
                    "xs": [round(i * 0.05, 2) for i in range(200)],
                    "ys": [round(float(v), 1) for v in s],
                    "limit": round(float(s.mean()), 1),
                }
            )
        k = g.integers(0, 10**6, 12)
        out.append(
            {
                "id": f"u{u:03d}",
                "name": f"Unit {u:03d} <A&B>",
                "facts": {f"measure {i+1}": round(int(k[i]) / 1000, 1) for i in range(12)},
                "claims": [
                    {
                        "claim": f"claim {i+1}",
                        "stated": int(k[i]) % 3000,
                        "measured": int(k[i]) % 2900,
                        "u": 12,
                        "verdict": ["holds", "fails", "undecided"][int(k[i]) % 3],
                    }
                    for i in range(8)
                ],
                "charts": ch,
            }
        )
    json.dump(out, open(path, "w"))
    return {"units": units, "charts": 6 * units}


if __name__ == "__main__":
    d = sys.argv[1]
    scale = sys.argv[sys.argv.index("--scale") + 1] if "--scale" in sys.argv else "all"
    os.makedirs(d, exist_ok=True)
    full = [
        ("log-10M.csv", lambda p: gen_log(p, 8_640_000, 10, 2, 11)),
        ("wave-20M.csv", lambda p: gen_wave(p, 20_000_000, 31)),
        ("spec-20M.npy", lambda p: gen_spec(p, 20_000_000, 41)),
    ]
    quick = [
        ("log-2M.csv", lambda p: gen_log(p, 2_000_000, 10, 2, 11)),
        ("log-36k.csv", lambda p: gen_log(p, 36_000, 1000, 0, 21)),
        ("wave-1M.csv", lambda p: gen_wave(p, 1_000_000, 31)),
        ("wave-4M.csv", lambda p: gen_wave(p, 4_000_000, 31)),
        ("spec-4M.npy", lambda p: gen_spec(p, 4_000_000, 41)),
        ("cohort.csv", lambda p: gen_cohort(p, 500, 51)),
        ("sim", lambda p: gen_sim(d, 500, 61)),
        ("publish.json", lambda p: gen_pub(p, 500, 71)),
    ]
    man = {}
    for name, fn in {"full": full, "quick": quick, "all": quick + full}[scale]:
        t = time.perf_counter()
        p = f"{d}/{name}"
        info = fn(p)
        for q in ([p] if name != "sim" else [f"{d}/sim_profile.csv", f"{d}/sim_units.csv"]):
            h = hashlib.sha256()
            with open(q, "rb") as f:
                while k := f.read(1 << 22):
                    h.update(k)
            man[os.path.basename(q)] = {**info, "bytes": os.path.getsize(q), "sha256": h.hexdigest()}
        print(name, round(time.perf_counter() - t, 1), "s", info, file=sys.stderr)
    mp = f"{d}/manifest.json"
    old = json.load(open(mp)) if os.path.exists(mp) else {}
    json.dump({**old, **man}, open(mp, "w"), indent=1)
