"""numpy, vector over the units, Python loop over the minutes. argv: DIR"""

import sys
from common import *
import numpy as np

mark("import")
from sim_core import *

load, pu, u = read(sys.argv[1])
mark("parse")
cap, rated, idle, lb, lc, sin, seff, cmax, arr = u.T
U = u.shape[0]
dt = 1 / 60
E = cap.copy()
on = np.ones(U, bool)
served = np.zeros(U)
uns = np.zeros(U)
cur = np.zeros(U)
off = np.zeros(U)
first = np.full(U, -1.0)
for m in range(load.size):
    l = load[m]
    ok = on & (l <= rated)
    ls = np.where(ok, l, 0.0)
    D = np.where(on, ls + idle + lb * ls + lc * ls * ls, idle * 0.5)
    s = np.minimum(arr * pu[m], sin) * seff
    net = s - D
    over = np.maximum(net - cmax, 0)
    net = net - over
    e = E + net * dt
    spill = np.maximum(e - cap, 0)
    cur += over * dt + spill
    E = np.clip(e, 0, cap)
    served += ls * dt
    uns += (l - ls) * dt
    off += ~on
    dead = on & (E <= 0)
    first = np.where(dead & (first < 0), m, first)
    on = (on & ~dead) | (~on & (E >= 0.1 * cap))
emit("simulate", "numpy", out(np.stack([served, uns, cur, off, first], 1)))
