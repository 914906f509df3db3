"""One-minute battery simulation, 7 days. Per unit and minute m (dt = 1/60 h):
D = load + idle + loss_b*load + loss_c*load^2 while the outlets are on, idle/2 while off;  solar = min(array_w*pu, solar_in_w)*solar_eff; overload: load > rated_w -> nothing served this minute (outlets stay on, load=0 for D)
net = solar - D; charge limited to charge_max_w; E += net*dt, clipped to [0, capacity]; curtailed = what did not fit; outlets go off when E reaches 0 and come back at E >= 10 % of capacity. Start full, outlets on.
out per unit: served_wh, unserved_wh, curtailed_wh, minutes_off, first_off (minute, or -1)"""

import numpy as np


def read(d):
    p = np.loadtxt(f"{d}/sim_profile.csv", delimiter=",", skiprows=1)
    u = np.loadtxt(f"{d}/sim_units.csv", delimiter=",", skiprows=1, usecols=range(1, 10))
    return p[:, 1].copy(), p[:, 2].copy(), u


def out(r):
    return {
        "units": int(r.shape[0]),
        "served_wh": float(r[:, 0].sum()),
        "unserved_wh": float(r[:, 1].sum()),
        "curtailed_wh": float(r[:, 2].sum()),
        "minutes_off": int(r[:, 3].sum()),
        "first_off_mean": float(r[:, 4].mean()),
        "u7": [float(x) for x in r[7]],
    }
