"""The inverter stage's share of c·P_rated/b, from a table of measured inverters.

Source: pvlib 0.16.1, data/sam-library-cec-inverters-2019-03-05.csv (SAM CEC inverter table 2019-03-05, BSD-3-Clause).
Input: a CSV with columns Paco (rated W) and eff_5 ... eff_100 (efficiency at 5 ... 100 % of rated power and the
nominal DC voltage, by the Sandia inverter model, SAND2007-5036). Not part of this repository.

Run: `python curve_prior.py inverters.csv` (standard library only).

Fit per inverter, relative weights: P_dc/P_rated = p0 + k·x + p2·x², x = P_ac/P_rated; c·P_rated/b = p2/k.
Result for 24 inverters of 320-4400 W: mean 0.0205, standard deviation 0.0075, range 0.0085 to 0.0371.
A station's store also loses with rate: with a relative loss alpha·P_dc/E the law gains alpha·P_rated·(1 + k1)/E,
0.02-0.04 for alpha 0.02 and a rated power of 1-2 times the store per hour (common practice, no public table found).
Hence 0.055 ± 0.03 for a station, which the inverter stage alone does not reach.
"""
import csv
import math
import sys

SHARES = (0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)


def solve3(m, y):
    """Cramer's rule for a symmetric 3x3 system."""
    def det(a):
        return (a[0][0] * (a[1][1] * a[2][2] - a[1][2] * a[2][1])
                - a[0][1] * (a[1][0] * a[2][2] - a[1][2] * a[2][0])
                + a[0][2] * (a[1][0] * a[2][1] - a[1][1] * a[2][0]))
    whole = det(m)
    return [det([[y[i] if j == k else m[i][j] for j in range(3)] for i in range(3)]) / whole for k in range(3)]


def curvature(row):
    dc = [x / float(row[f"eff_{round(100 * x)}"]) for x in SHARES]
    design = [[1 / d, x / d, x * x / d] for x, d in zip(SHARES, dc)]
    normal = [[sum(r[i] * r[j] for r in design) for j in range(3)] for i in range(3)]
    _, k, p2 = solve3(normal, [sum(r[i] for r in design) for i in range(3)])
    return p2 / k


if __name__ == "__main__":
    values = [curvature(row) for row in csv.DictReader(open(sys.argv[1], newline=""))]
    mean = sum(values) / len(values)
    sd = math.sqrt(sum((v - mean) ** 2 for v in values) / (len(values) - 1))
    print(f"n {len(values)}, mean {mean:.4f}, sd {sd:.4f}, range {min(values):.4f} to {max(values):.4f}")
