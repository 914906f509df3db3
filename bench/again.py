#!/usr/bin/env python3
"""Publishes a bench of many stations once, then changes one reading and publishes again, some times over.

Both ways: by the command, each time a process of its own; and in the running app, by its own requests over loopback, where
the first screen after the change is timed too. Prints wall and processor time, how many files were written, the memory of
the app, and the medians. Called by `bench/run --again`.
"""

import argparse
import http.client
import json
import os
import re
import resource
import shutil
import sqlite3
import statistics
import subprocess
import tempfile
import time
import urllib.parse

BOUNDARY = "one-changed-reading"


def publish(program, bench, site):
    """Wall and processor seconds, and what the program says of its files."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begin = time.perf_counter()
    said = subprocess.run([program, "publish", bench, "--to", site, "--json"], check=True, capture_output=True)
    wall = time.perf_counter() - begin
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return wall, cpu, json.loads(said.stdout)["pages"]


class App:
    """The running app, spoken to as a browser does."""

    def __init__(self, program, bench):
        self.serving = subprocess.Popen(
            [program, "serve", bench, "--port", "0", "--no-open"],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.host = None
        for line in self.serving.stdout:
            found = re.search(r"http://([^/\s]+)", line)
            if found:
                self.host = found.group(1)
                break
        self.link = http.client.HTTPConnection(self.host, timeout=600)

    def ask(self, method, path, body=None, kind=None, accept="text/html"):
        """Wall seconds until the whole answer is there; status, headers, text."""
        headers = {"Accept": accept, "Origin": f"http://{self.host}"}
        if kind:
            headers["Content-Type"] = kind
        begin = time.perf_counter()
        self.link.request(method, path, body, headers)
        answer = self.link.getresponse()
        text = answer.read()
        return time.perf_counter() - begin, answer.status, answer.headers, text.decode()

    def change(self, test, key, was, text, instrument):
        """Types a reading anew: seconds until it is kept, and where the app goes then."""
        fields = {"field": key, "text": text, "was": was, "instrument": instrument, "why": "typed wrong"}
        part = '--{}\r\nContent-Disposition: form-data; name="{}"\r\n\r\n{}\r\n'
        body = "".join(part.format(BOUNDARY, name, value) for name, value in fields.items()) + f"--{BOUNDARY}--\r\n"
        path = f"/test/{urllib.parse.quote(test, safe='')}/keep"
        wall, status, headers, said = self.ask("POST", path, body, f"multipart/form-data; boundary={BOUNDARY}")
        if status != 303:
            raise SystemExit(f"the reading was not kept: {status} {said[:500]}")
        return wall, headers["Location"]

    def publish(self, site):
        """Seconds of the clock and of the processor until the answer, and how many files it says were written."""
        before = self.processor()
        body = urllib.parse.urlencode({"folder": site})
        wall, status, _, text = self.ask("POST", "/publish", body, "application/x-www-form-urlencoded")
        said = re.search(r"Published: (\d+) new", text)
        if status != 200 or not said:
            raise SystemExit(f"nothing was published: {status} {text[:2000]}")
        return wall, self.processor() - before, int(said.group(1))

    def processor(self):
        with open(f"/proc/{self.serving.pid}/stat") as stat:
            words = stat.read().rsplit(")", 1)[1].split()
        return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")

    def memory(self):
        """Megabytes resident now, and at most so far."""
        with open(f"/proc/{self.serving.pid}/status") as status:
            text = status.read()
        return [int(re.search(rf"{key}:\s+(\d+)", text).group(1)) / 1000 for key in ("VmRSS", "VmHWM")]

    def stop(self):
        self.serving.terminate()
        self.serving.wait()


def middle(bench):
    """The test and reading that are changed: the first of the station in the middle, as the bench file has it."""
    with sqlite3.connect(bench) as file:
        tests = file.execute("SELECT id, body FROM record WHERE sort = 'test' ORDER BY place").fetchall()
    ident, body = tests[len(tests) // 2]
    entry = json.loads(body)["entries"]["counter_end"]
    return ident, entry["text"], entry.get("instrument", "")


def in_the_app(program, bench, site, runs):
    test, first, instrument = middle(bench)
    other = f"{0.97 * float(first.split()[0]):.1f} Wh"
    app = App(program, bench)
    try:
        wall, _, _, _ = app.ask("GET", "/")
        print(f"app      first screen after the start {wall:.3f} s, memory {app.memory()[0]:.0f} MB")
        wall, cpu, written = app.publish(site)
        memory = app.memory()[0]
        print(f"app      fresh    wall {wall:.3f} s, cpu {cpu:.2f} s, {written} files written, memory {memory:.0f} MB")
        found = []
        for run in range(runs):
            was, text = (first, other) if run % 2 == 0 else (other, first)
            kept, to = app.change(test, "counter_end", was, text, instrument)
            screen, _, _, _ = app.ask("GET", to)
            found.append((kept, screen, *app.publish(site)))
        again, _, _ = app.publish(site)
        kept, screen, walls, cpus, written = zip(*found)
        median = statistics.median
        print(
            f"app      the reading kept {median(kept):.3f} s, first screen after it {median(screen):.3f} s "
            f"(least {min(screen):.3f})"
        )
        print(
            f"app      changed  wall {median(walls):.3f} s (least {min(walls):.3f}), cpu {median(cpus):.2f} s, "
            f"{max(written)} files written at most; the bar is 0.15 s and 10 files"
        )
        now, most = app.memory()
        print(f"app      the same wall {again:.3f} s; memory {now:.0f} MB, at most {most:.0f} MB")
    finally:
        app.stop()


def by_command(program, change, bench, site, runs):
    wall, cpu, pages = publish(program, bench, site)
    print(f"command  fresh    wall {wall:.3f} s, cpu {cpu:.3f} s, {pages['written']} files written")
    wall, cpu, pages = publish(program, bench, site)
    print(f"command  the same wall {wall:.3f} s, cpu {cpu:.3f} s, {pages['written']} files written")
    found = []
    for _ in range(runs):
        subprocess.run([change, bench, "change"], check=True)
        found.append(publish(program, bench, site))
    walls, cpus = [f[0] for f in found], [f[1] for f in found]
    most = max(f[2]["written"] for f in found)
    print(
        f"command  changed  wall {statistics.median(walls):.3f} s (least {min(walls):.3f}), cpu {statistics.median(cpus):.3f} s, "
        f"{most} files written at most; the bar is 0.15 s and 10 files"
    )


def main():
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--bench", required=True, help="the bench of many stations; a copy is changed")
    words.add_argument("--ours", required=True, help="folder of our built examples")
    words.add_argument("--runs", type=int, default=5)
    words.add_argument("--only", choices=["app", "command"])
    options = words.parse_args()
    program = os.path.join(options.ours, "..", "trueplate")
    change = os.path.join(options.ours, "many_stations")
    with tempfile.TemporaryDirectory(prefix="again-") as folder:
        for way in ("command", "app"):
            if options.only not in (None, way):
                continue
            # Each on a bench of its own, so that both begin with the same reading.
            bench, site = f"{folder}/{way}.trueplate", f"{folder}/{way}"
            shutil.copy(options.bench, bench)
            if way == "command":
                by_command(program, change, bench, site, options.runs)
            else:
                in_the_app(program, bench, site, options.runs)


main()
