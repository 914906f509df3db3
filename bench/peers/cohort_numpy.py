"""numpy vectorised. argv: CSV [draws]"""

import sys
from common import *
import numpy as np

mark("import")
from cohort_core import *

D = int(sys.argv[2]) if len(sys.argv) > 2 else 10_000
d = read(sys.argv[1])
mark("parse")
th, C, chi2 = fit(d)
U = th.shape[0]
mark("fit")
g = np.random.default_rng(5)
L = np.linalg.cholesky(C)
lo = np.empty((6, U))
med = np.empty((6, U))
hi = np.empty((6, U))
cnt = np.zeros((6, U, U), np.int32)
B = 1000
iu = np.arange(U)
for k in range(0, D, B):
    n = min(B, D - k)
    z = g.standard_normal((n, U, 3))
    t = th + np.einsum("uij,nuj->nui", L, z)
    for m, v in enumerate(metrics(t)):
        o = np.argsort(-v, axis=1)  # (n, U) order -> rank r of unit o[:, r]
        cnt[m] += np.bincount((o * U + iu).ravel(), minlength=U * U).reshape(U, U).astype(np.int32)
c = cnt.cumsum(2)
for m in range(6):
    lo[m] = (c[m] >= D * 0.025).argmax(1) + 1
    med[m] = (c[m] >= D * 0.5).argmax(1) + 1
    hi[m] = (c[m] >= D * 0.975).argmax(1) + 1
emit("cohort", "numpy", out(th, C, chi2, lo, med, hi))
