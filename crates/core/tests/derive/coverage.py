"""Reference half-widths and distribution values for tests/truth_gum.rs: sums of independent parts.

Run with numpy 2 and scipy 1: `python coverage.py`. Adaptive quadrature over the exact densities, no sampling.
Each sum is at most one Student t (or normal) part and up to two bounded parts.
"""
import numpy as np
from scipy import integrate, optimize, stats

R3, R6, R2 = np.sqrt(3), np.sqrt(6), np.sqrt(2)


def rect(a):
    return stats.uniform(-a, 2 * a), a


def tri(a):
    return stats.triang(0.5, -a, 2 * a), a


def arc(a):
    return stats.arcsine(-a, 2 * a), a


def cdf(blur, bounded, x):
    """P(blur + all bounded <= x): nested quadrature, one level per bounded part."""
    if not bounded:
        return blur.cdf(x)
    (part, a), rest = bounded[0], bounded[1:]
    # The angle removes the arcsine's poles: y = a sin q.
    def inner(q):
        y = a * np.sin(q)
        return part.pdf(y) * a * np.cos(q) * cdf(blur, rest, x - y) if abs(np.cos(q)) > 1e-12 else 0.0
    edges = sorted({-np.pi / 2, np.pi / 2, *[float(np.arcsin(np.clip((x + s * b) / a, -1, 1))) for b in (0, *[r[1] for r in rest]) for s in (-1, 1)]})
    return sum(integrate.quad(inner, lo, hi, epsabs=1e-11, epsrel=1e-10, limit=200)[0] for lo, hi in zip(edges, edges[1:]))


def half(blur, bounded, p=0.95):
    top = sum(a for _, a in bounded) + blur.ppf(0.5 + p / 2)
    return optimize.brentq(lambda x: cdf(blur, bounded, x) - 0.5 - p / 2, 0, top, xtol=1e-10)


if __name__ == "__main__":
    N, T = stats.norm, stats.t
    print("rect u1 + normal u1      ", half(N(0, 1), [rect(R3)]))
    print("rect u1 + normal u0.1    ", half(N(0, 0.1), [rect(R3)]))
    print("rect u1 + t4 u1          ", half(T(4, 0, 1), [rect(R3)]))
    print("rect u1 + t4 u1, cdf(1)  ", cdf(T(4, 0, 1), [rect(R3)], 1.0))
    print("rect u1 + t1 u0.5        ", half(T(1, 0, 0.5), [rect(R3)]))
    print("tri u1 + normal u0.2     ", half(N(0, 0.2), [tri(R6)]))
    print("arc u1 + normal u0.05    ", half(N(0, 0.05), [arc(R2)]))
    print("rect u1 + arc u1 + N u.5 ", half(N(0, 0.5), [rect(R3), arc(R2)]))
    print("rect 1 + rect .5 + t3 u.3", half(T(3, 0, 0.3), [rect(R3), rect(R3 / 2)]))
    print("rect 1 + rect .5 + t3 u2 ", half(T(3, 0, 2.0), [rect(R3), rect(R3 / 2)]))
    print("rect 1 + rect .5 + N u.1, 99 %", half(N(0, 0.1), [rect(R3), rect(R3 / 2)], 0.99))
