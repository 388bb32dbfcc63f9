#!/usr/bin/python3
"""Runs shimwright and the peers on the same files, one after another, and prints
tables in Markdown. run.sh builds what it needs."""

import argparse
import json
import os
import platform
import re
import resource
import signal
import subprocess
import sys
import tempfile
import threading
import time

HERE = os.path.dirname(os.path.abspath(__file__))
PEERS = ["dense-pieces", "dense", "sparse", "highs", "highs-presolve", "highs-milp", "glpk", "cbc"]
CASES = [("plenty", False), ("plenty", True), ("scarce", False), ("miked", True)]  # box, pooled
MEMORY = 16 << 30  # bytes that a peer may take


class Run:
    """One process from its start to its end."""

    def __init__(self, command, limit):
        with tempfile.TemporaryFile() as out:
            start = time.perf_counter()
            child = subprocess.Popen(
                command, stdout=out, stderr=subprocess.DEVNULL, start_new_session=bool(limit),
                preexec_fn=(lambda: resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))) if limit else None,
            )
            self.late = False
            if limit:
                timer = threading.Timer(limit, self.stop, [child.pid])
                timer.start()
            _, status, usage = os.wait4(child.pid, 0)
            self.seconds = time.perf_counter() - start
            if limit:
                timer.cancel()
            child.returncode = self.status = os.waitstatus_to_exitcode(status)
            self.kilobytes = usage.ru_maxrss
            out.seek(0)
            # The beginning is enough, and keeps this program small: a child's
            # greatest memory counts what it had before it became the program.
            self.output = out.read(4096).decode()

    def stop(self, group):
        """Ends the process and those that it started: they have a group of their own."""
        self.late = True
        os.killpg(group, signal.SIGKILL)


def best(command, limit=None, enough=3.0, most=5):
    """The shortest of several runs: as many as are over soon."""
    runs = [Run(command, limit)]
    while not runs[0].late and sum(r.seconds for r in runs) < enough and len(runs) < most:
        runs.append(Run(command, limit))
    return min(runs, key=lambda r: r.seconds)


def show(seconds):
    for unit, factor in (("s", 1), ("ms", 1e3), ("µs", 1e6)):
        if seconds * factor >= 1:
            break
    number = seconds * factor
    return f"{number:.{0 if number >= 100 else 1 if number >= 10 else 2}f} {unit}"


def times(ratio):
    return f"{ratio:.{0 if ratio >= 10 else 1}f}"


def load():
    return f"load {os.getloadavg()[0]:.1f}"


class Bench:
    def __init__(self, folder, limit):
        self.folder, self.limit = folder, limit

    def bin(self, name):
        return os.path.join(self.folder, "bin", name)

    def job(self, valves, box):
        folder = os.path.join(self.folder, f"{valves}-{box}")
        if not os.path.isdir(folder):
            os.mkdir(folder)
            stock = ["-box", "plenty", "-miked"] if box == "miked" else ["-box", box]
            subprocess.run([self.bin("make"), "-valves", str(valves), "-folder", folder] + stock, check=True)
        return folder

    def solve(self, job, pooled, *more):
        """The command from the files to the finished JSON."""
        return [self.bin("shimwright"), "solve", "--engine", f"{job}/engine.toml", "--box", f"{job}/box.csv", "--lift", "all",
                "--output", "json", *(["--share-pulled"] if pooled else []), *more, f"{job}/check.csv"]

    def against(self, valves, box, pooled):
        """A table of all peers on one job."""
        job = self.job(valves, box)
        ours = best(self.solve(job, pooled), most=20)
        wanted = criteria(ours.output)
        alone = float(subprocess.run([self.bin("alone"), *(["-pooled"] if pooled else []), job],
                                     check=True, capture_output=True).stdout)
        how = {"plenty": "box plenty", "scarce": "box scarce", "miked": "box plenty, every shim miked"}[box]
        print(f"\n### {valves:,} valves, {how}, {'pooled' if pooled else 'by engine'} ({load()})\n")
        print("criteria: " + ", ".join(f"{k} {v}" for k, v in wanted.items()) + "\n")
        print("| solver | whole process | times ours | solver alone | times ours | runs | optimum |")
        print("| --- | ---: | ---: | ---: | ---: | ---: | --- |")
        print(f"| **shimwright** | **{show(ours.seconds)}** | 1 | **{show(alone)}** | 1 | 1 | |", flush=True)
        for peer in PEERS:
            command = ["/usr/bin/python3", f"{HERE}/peers.py", *(["--pooled"] if pooled else []), "--out", os.path.join(self.folder, "out"), peer, job]
            run = best(command, self.limit)
            if run.late:
                print(f"| {peer} | over {self.limit} s | over {times(self.limit / ours.seconds)} | | | | |", flush=True)
                continue
            try:
                answer = json.loads(run.output)
            except ValueError:
                answer = {"error": f"ended with status {run.status}: out of memory?"}
            if "error" in answer:
                print(f"| {peer} | {show(run.seconds)} | | | | | no answer: {answer['error'].splitlines()[0][:70]} |", flush=True)
                continue
            same = "same" if answer["criteria"] == wanted else f"NOT the same: {answer['criteria']}"
            print(f"| {peer} | {show(run.seconds)} | {times(run.seconds / ours.seconds)} | {show(answer['seconds'])} | "
                  f"{times(answer['seconds'] / alone)} | {answer['runs']} | {same} |", flush=True)

    def large(self, valves):
        print(f"\n### {valves:,} valves, shimwright alone, from CSV files to finished JSON ({load()})\n")
        print("| box | pulled shims | wall | processor | memory, most | |\n| --- | --- | ---: | ---: | ---: | --- |")
        for box, more in (("plenty", []), ("scarce", []), ("none", []), ("none", ["--no-buy"]), ("miked", [])):
            for pooled in (True, False):
                job = self.job(valves, box)
                before = resource.getrusage(resource.RUSAGE_CHILDREN)
                n = 3
                runs = [Run(self.solve(job, pooled, *more), None) for _ in range(n)]
                after = resource.getrusage(resource.RUSAGE_CHILDREN)
                cpu = (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime) / n
                run = min(runs, key=lambda r: r.seconds)
                print(f"| {box} {' '.join(more)} | {'pooled' if pooled else 'by engine'} | {show(run.seconds)} | {show(cpu)} | "
                      f"{max(r.kilobytes for r in runs) / 1024:.0f} MiB | {', '.join(f'{k} {v}' for k, v in criteria(run.output).items() if k in ('unserved', 'bought'))} |", flush=True)

    def small(self):
        """Sixteen valves: the command against a program that does nothing."""
        job = self.job(16, "scarce")
        alone = float(subprocess.run([self.bin("alone"), job], check=True, capture_output=True).stdout)
        kinds = {"an empty Go program": [self.bin("empty")], "shimwright --version": [self.bin("shimwright"), "--version"],
                 "shimwright solve": self.solve(job, False)}
        seconds = {kind: [] for kind in kinds}
        for _ in range(200):  # in turn, so that a busy moment meets all
            for kind, command in kinds.items():
                seconds[kind].append(Run(command, None).seconds)
        print(f"\n### Sixteen valves ({load()})\n")
        print(f"The planning alone takes {show(alone)} (the shortest of one second of runs).\n")
        print("| process, 200 times | median | shortest |\n| --- | ---: | ---: |")
        for kind, s in seconds.items():
            print(f"| {kind} | {show(sorted(s)[len(s) // 2])} | {show(min(s))} |", flush=True)


def criteria(output):
    """The criteria of a plan in JSON; lengths in nm, prices in cents, as the peers count."""
    found = json.loads(re.search(r'"criteria": (\{.*?\})', output).group(1))
    found["deviation"] = round(found.pop("deviation_mm") * 1e6)
    found["cost"] = round(found["cost"] * 100)
    order = ["unserved", "bought", "cost", "near", "disturbed", "drawn", "deviation", "changed"]
    return {k: found[k] for k in order}


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--quick", action="store_true", help="leave out 10,000 valves and the large jobs")
    parser.add_argument("--part", choices=["small", "peers", "large"], action="append", help="only this part; may be given again")
    parser.add_argument("--limit", type=int, default=600, help="seconds that a peer may take")
    parser.add_argument("folder", help="with the programs in bin")
    a = parser.parse_args()
    version = lambda *command: subprocess.run(command, capture_output=True, text=True, stdin=subprocess.DEVNULL).stdout
    print(f"{os.cpu_count()} cores, {re.search('model name.*: (.*)', open('/proc/cpuinfo').read()).group(1)}, {platform.platform()}; "
          f"{version('go', 'version').split()[2]}; Python {platform.python_version()}, SciPy {version(sys.executable, '-c', 'import scipy; print(scipy.__version__)').strip()}, "
          f"{version('glpsol', '--version').splitlines()[0]}, CBC {re.search('Version: *(.*)', version('cbc', '-stop')).group(1)}")
    bench = Bench(a.folder, a.limit)
    parts = a.part or (["small", "peers"] if a.quick else ["small", "peers", "large"])
    if "small" in parts:
        bench.small()
    if "peers" in parts:
        for valves in (16, 1_000) if a.quick else (16, 1_000, 10_000):
            for box, pooled in CASES:
                bench.against(valves, box, pooled)
    if "large" in parts:
        bench.large(100_000)


if __name__ == "__main__":
    sys.exit(main())
