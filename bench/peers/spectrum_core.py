"""Harmonic subgroups (IEC 61000-4-7) over 10-cycle (200 ms at 50 Hz) windows: bin spacing 5 Hz; G(h)^2 = |X(10h-1)|^2+|X(10h)|^2+|X(10h+1)|^2; THDS = sqrt(sum_{2..50} G^2)/G(1)."""

import numpy as np


def from_power(p2):  # p2: (windows, >=502) of |X|^2
    h = np.arange(1, 51) * 10
    g = p2[:, h - 1] + p2[:, h] + p2[:, h + 1]
    return np.sqrt(g[:, 1:].sum(1) / g[:, 0]), g


def answer(thd, g):
    return {
        "windows": int(thd.size),
        "thd_mean_pct": float(thd.mean() * 100),
        "thd_min_pct": float(thd.min() * 100),
        "thd_max_pct": float(thd.max() * 100),
        "thd_first_pct": float(thd[0] * 100),
        "h3_mean_pct": float(np.sqrt(g[:, 2] / g[:, 0]).mean() * 100),
    }
