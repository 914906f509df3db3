"""Runtime curve 1/t = a + bP + cP^2 by weighted least squares (u(1/t) = u(t)/t^2), covariance (X'WX)^-1, 10,000 draws a unit, rank intervals on 6 metrics.
metrics (rank 1 = largest): 0 runtime at 100 W; 1 runtime at 500 W; 2 runtime at 1000 W; 3 Wh at 200 W = 200/y(200); 4 Wh at 800 W = 800/y(800); 5 flatness = [800/y(800)]/[200/y(200)]
"""

import numpy as np

PS = np.array([100.0, 500.0, 1000.0, 200.0, 800.0])


def read(path):
    d = np.loadtxt(path, delimiter=",", skiprows=1, usecols=(2, 3, 4))
    names = []
    return d.reshape(-1, 8, 3)


def fit(d):
    P, t, u = d[..., 0], d[..., 1], d[..., 2]
    x = P / 1000.0  # scaled: kW
    X = np.stack([np.ones_like(x), x, x * x], -1)
    y = 1 / t
    w = (t * t / u) ** 2
    A = np.einsum("uri,ur,urj->uij", X, w, X)
    r = np.einsum("uri,ur,ur->ui", X, w, y)
    C = np.linalg.inv(A)
    th = np.einsum("uij,uj->ui", C, r)
    chi2 = (w * (y - np.einsum("uri,ui->ur", X, th)) ** 2).sum(1)
    return th, C, chi2


def metrics(th):  # th (..., 3) -> (..., 6)
    x = PS / 1000
    B = np.stack([np.ones_like(x), x, x * x])  # (3,5)
    y = th @ B
    r = 1 / y
    e2, e8 = 200 * r[..., 3], 800 * r[..., 4]
    return r[..., 0], r[..., 1], r[..., 2], e2, e8, e8 / e2


def out(th, C, chi2, lo, med, hi):
    """lo/med/hi (6, units) rank percentiles"""
    return {
        "units": int(th.shape[0]),
        "a0": float(th[0, 0]),
        "b0": float(th[0, 1] / 1e3),
        "c0": float(th[0, 2] / 1e6),
        "u_b0": float(np.sqrt(C[0, 1, 1]) / 1e3),
        "chi2_mean": float(chi2.mean()),
        "runtime500_u0_h": float(metrics(th[0])[1]),
        "width_mean": [float(x) for x in (hi - lo).mean(1)],
        "u0_lo": [int(x) for x in lo[:, 0]],
        "u0_med": [int(x) for x in med[:, 0]],
        "u0_hi": [int(x) for x in hi[:, 0]],
    }
