#!/usr/bin/env python3
"""Publishes a bench of many stations once, then changes one reading and publishes again, some times over.

Prints wall and processor time of each publishing, how many files it wrote, and the medians. Called by `bench/run --again`.
"""

import argparse
import json
import os
import resource
import shutil
import statistics
import subprocess
import tempfile
import time


def publish(program, bench, site):
    """Wall and processor seconds, and what the program says of its files."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begin = time.perf_counter()
    said = subprocess.run([program, "publish", bench, "--to", site, "--json"], check=True, capture_output=True)
    wall = time.perf_counter() - begin
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return wall, cpu, json.loads(said.stdout)["pages"]


def main():
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--bench", required=True, help="the bench of many stations; a copy is changed")
    words.add_argument("--ours", required=True, help="folder of our built examples")
    words.add_argument("--runs", type=int, default=5)
    options = words.parse_args()
    program = os.path.join(options.ours, "..", "trueplate")
    change = os.path.join(options.ours, "many_stations")
    with tempfile.TemporaryDirectory(prefix="again-") as folder:
        bench, site = f"{folder}/many.trueplate", f"{folder}/site"
        shutil.copy(options.bench, bench)
        wall, cpu, pages = publish(program, bench, site)
        print(f"fresh    wall {wall:.3f} s, cpu {cpu:.3f} s, {pages['written']} files written")
        wall, cpu, pages = publish(program, bench, site)
        print(f"the same wall {wall:.3f} s, cpu {cpu:.3f} s, {pages['written']} files written")
        found = []
        for _ in range(options.runs):
            subprocess.run([change, bench, "change"], check=True)
            found.append(publish(program, bench, site))
        walls, cpus = [f[0] for f in found], [f[1] for f in found]
        most = max(f[2]["written"] for f in found)
        print(
            f"changed  wall {statistics.median(walls):.3f} s (least {min(walls):.3f}), cpu {statistics.median(cpus):.3f} s, "
            f"{most} files written at most; the bar is 0.15 s and 10 files"
        )


main()
