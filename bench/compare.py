#!/usr/bin/env python3
"""Runs ours and the peers side by side and prints what each takes and the ratios.

Commands take turns (A B C A B C …), so that whatever else the machine does falls on all alike. Wall and processor time and
the peak of memory are those of the whole process, from its start to its end (wait4); medians are printed. The answers are
compared too: a faster wrong answer is a fault, and ends with exit 1. What is not built yet is named and left out.
"""

import argparse
import functools
import json
import os
import shutil
import statistics
import sys
import tempfile
import time

HERE = os.path.dirname(os.path.abspath(__file__))


def python(name, *words):
    return [sys.executable, f"{HERE}/peers/{name}.py", "{in}", *words]


# name: (input full, input quick, our example and its words, peers, bar of ours over the best peer)
WORKLOADS = {
    "log": (
        "log-10M.csv",
        "log-2M.csv",
        ["log_json", "--workload", "{in}"],
        {"polars": python("log_polars_native"), "pyarrow": python("log_pyarrow")},
        0.25,
    ),
    "log-small": (
        "log-36k.csv",
        "log-36k.csv",
        ["log_json", "--workload", "{in}"],
        {"awk": [f"{HERE}/peers/log_awk.sh", "{in}"]},
        0.3,
    ),
    "wave": (
        "wave-20M.csv",
        "wave-4M.csv",
        ["wave_json", "--workload", "{in}"],
        {"polars": python("wave_polars1"), "pyarrow": python("wave_pyarrow"), "duckdb": python("wave_duckdb")},
        0.45,
    ),
    "wave-small": (
        "wave-1M.csv",
        "wave-1M.csv",
        ["wave_json", "--workload", "{in}"],
        {"polars": python("wave_polars1"), "pyarrow": python("wave_pyarrow"), "duckdb": python("wave_duckdb")},
        0.2,
    ),
    "spectrum": (
        "spec-20M.npy",
        "spec-4M.npy",
        ["spectrum_json", "{in}"],
        {"numpy split": python("spectrum_decim"), "scipy": python("spectrum_scipy")},
        0.35,
    ),
    "cohort": ("cohort.csv", "cohort.csv", ["cohort_json", "{in}"], {"numpy": python("cohort_numpy")}, 0.4),
    "simulate": (".", ".", ["serve_minutes", "{in}"], {"numpy": python("sim_numpy")}, 0.06),
    "publish": (
        "publish.json",
        "publish.json",
        ["publish_json", "{in}", "{out}/site"],
        {"jinja2": python("publish_jinja_svg", "{out}/site")},
        0.35,
    ),
    "publish-bench": (
        "publish.json",
        "publish.json",
        ["../trueplate", "publish", "{data}/many.trueplate", "--to", "{out}/site"],
        {"jinja2": python("publish_jinja_svg", "{out}/site")},
        0.35,
    ),
}
# How far answers may differ, relative. Ranks come from random draws.
ROOM = {"spectrum": 1e-4, "cohort": 0.05}
# The program computes its pages from a bench and the peer's are given: only the times stand there.
NOT_COMPARED = {"publish-bench"}


def differences(theirs, ours, room, at=""):
    """Where two answers differ by more than the room; keys that begin with _ are not compared."""
    if isinstance(theirs, dict):
        keys = [k for k in theirs if not k.startswith("_") and k not in ("workload", "peer")]
        if not isinstance(ours, dict):
            return [f"{at} is missing"]
        return [d for k in keys for d in differences(theirs[k], ours.get(k), room, f"{at}.{k}")]
    if isinstance(theirs, list):
        pairs = zip(theirs, ours if isinstance(ours, list) else [])
        return [d for i, (a, b) in enumerate(pairs) for d in differences(a, b, room, f"{at}[{i}]")]
    if isinstance(theirs, (int, float)):
        # A single rank may move by a few places between two streams of random numbers.
        slack = 6 if ".u0_" in at else 1e-9
        near = isinstance(ours, (int, float)) and abs(theirs - ours) <= max(room * abs(theirs), slack)
        return [] if near else [f"{at} {ours} is not {theirs}"]
    return [] if theirs == ours else [f"{at} {ours} is not {theirs}"]


def once(command):
    """One run: exit code, wall and processor seconds, peak in MB, and the last line that is JSON."""
    read, write = os.pipe()
    begin = time.perf_counter()
    child = os.fork()
    if child == 0:
        os.dup2(write, 1)
        os.close(read)
        try:
            os.execvp(command[0], command)
        finally:
            os._exit(127)
    os.close(write)
    out = b""
    while piece := os.read(read, 65536):
        out += piece
    os.close(read)
    _, status, used = os.wait4(child, 0)
    lines = [line for line in out.decode(errors="replace").splitlines() if line.startswith("{")]
    return {
        "code": os.waitstatus_to_exitcode(status),
        "wall": time.perf_counter() - begin,
        "cpu": used.ru_utime + used.ru_stime,
        "mb": used.ru_maxrss / 1024,
        "answer": json.loads(lines[-1]) if lines else None,
    }


def measure(commands, source, runs):
    """Runs the commands in turn, the first round not counted."""
    rounds = {name: [] for name in commands}
    scratch = tempfile.mkdtemp(prefix="bench-")
    for k in range(runs + 1):
        for name, command in commands.items():
            # A fresh folder each time: overwriting files costs a flush each.
            out = tempfile.mkdtemp(dir=scratch)
            words = {"{in}": source, "{out}": out, "{data}": os.path.dirname(source)}
            answer = once([functools.reduce(lambda w, k: w.replace(k, words[k]), words, word) for word in command])
            if k > 0:
                rounds[name].append(answer)
            shutil.rmtree(out, ignore_errors=True)
    shutil.rmtree(scratch, ignore_errors=True)
    return rounds


def compare(name, options):
    """One workload: prints its table, returns its figures and whether something was wrong."""
    full, quick, ours, peers, bar = WORKLOADS[name]
    source = quick if options.quick else full
    path = os.path.normpath(os.path.join(options.data, source))
    program = os.path.join(options.ours, ours[0])
    if not os.path.exists(program):
        print(f"\n{name}: LEFT OUT, the example {ours[0]} is not built")
        return None, False
    commands = {"ours": [program, *ours[1:]], **peers}
    if name.startswith("log") and os.path.exists(options.limit):
        commands["C by hand"] = [options.limit, "{in}", "1"]
    rounds = measure(commands, path, options.runs)
    print(f"\n{name}, {source}, medians of {options.runs}")
    print(f"{'':14}{'wall s':>9}{'least':>9}{'cpu s':>9}{'MB':>8}")
    figures, wrong = {}, False
    answer = rounds["ours"][-1]["answer"]
    for who, runs in rounds.items():
        middle = {key: statistics.median(r[key] for r in runs) for key in ("wall", "cpu", "mb")}
        least = min(r["wall"] for r in runs)
        note = ""
        if any(r["code"] != 0 for r in runs):
            note, wrong = "  FAILED", True
        elif who not in ("ours", "C by hand") and name not in NOT_COMPARED:
            differ = differences(runs[-1]["answer"], answer, ROOM.get(name, 1e-6))
            if differ:
                note, wrong = "  OURS DIFFERS: " + "; ".join(differ[:4]), True
        figures[who] = {**middle, "least": least}
        print(f"{who:14}{middle['wall']:9.3f}{least:9.3f}{middle['cpu']:9.3f}{middle['mb']:8.1f}{note}")
    best = min(peers, key=lambda who: figures[who]["wall"])
    ratio = {key: figures["ours"][key] / figures[best][key] for key in ("wall", "cpu", "mb")}
    figures["ratio"] = {"to": best, **ratio}
    word = "within" if ratio["wall"] <= bar else "BEYOND"
    print(f"ours / {best}: wall {ratio['wall']:.3f}, {word} the bar {bar}; cpu {ratio['cpu']:.3f}, memory {ratio['mb']:.3f}")
    if "C by hand" in figures:
        c = figures["C by hand"]
        print(f"ours / C by hand: wall {figures['ours']['wall'] / c['wall']:.2f}, cpu {figures['ours']['cpu'] / c['cpu']:.2f}")
    return figures, wrong


def main():
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--data", required=True, help="folder of the inputs")
    words.add_argument("--ours", required=True, help="folder of our built examples")
    words.add_argument("--limit", default="", help="the program in C")
    words.add_argument("--quick", action="store_true", help="smaller inputs")
    words.add_argument("--only", default=",".join(WORKLOADS), help="names with commas between")
    words.add_argument("--runs", type=int, default=5, help="rounds that count")
    words.add_argument("--out", help="file for the figures as JSON")
    options = words.parse_args()
    unknown = [name for name in options.only.split(",") if name not in WORKLOADS]
    if unknown:
        words.error(f"{', '.join(unknown)}: there are {', '.join(WORKLOADS)}")
    load = os.getloadavg()[0]
    if load > 1.0:
        print(f"The machine is busy (load {load:.1f}): trust the ratios of cpu more than those of wall.")
    all_figures, wrong = {}, False
    for name in options.only.split(","):
        figures, bad = compare(name, options)
        wrong = wrong or bad
        if figures:
            all_figures[name] = figures
    if options.out:
        with open(options.out, "w") as file:
            json.dump(all_figures, file, indent=1)
    sys.exit(1 if wrong else 0)


main()
