"""Shared by every peer: one JSON line out, with the in-process clock and the peak memory of this process."""

import json, resource, sys, time

T0 = time.perf_counter()
_marks = {}


def mark(name):
    _marks[name] = round(time.perf_counter() - T0, 4)


def emit(workload, peer, answer):
    def clean(x):
        if hasattr(x, "item"):
            x = x.item()
        if isinstance(x, float):
            return float(f"{x:.9g}")
        if isinstance(x, dict):
            return {k: clean(v) for k, v in x.items()}
        if isinstance(x, (list, tuple)):
            return [clean(v) for v in x]
        return x

    out = {
        "workload": workload,
        "peer": peer,
        **clean(answer),
        "_t": {**_marks, "end": round(time.perf_counter() - T0, 4)},
        "_maxrss_mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, 1),
    }
    sys.stdout.write(json.dumps(out) + "\n")
    sys.stdout.flush()
