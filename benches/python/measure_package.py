"""The Python package beside the command line, on the same history: time by the clock and on the processor.

Packages: groundwall (the wheel of crates/python), polars. The fleet is made by the example make-fleet.

    cargo run --release -p groundwall --example make-fleet -- --windings 25000 --tests 40 --out fleet.csv --register register.csv
    venv/bin/python benches/python/measure_package.py target/release/groundwall fleet.csv register.csv --rounds 3

In turn, each round in a process of its own: the command line writes its CSV; the package judges the same path and gives its table; the
package judges a polars frame that was read before. Prints the least and the greatest of each as JSON.
"""

import argparse
import json
import resource
import subprocess
import sys
import time

PATH = """
import groundwall, sys
judged = groundwall.assess(sys.argv[1], sys.argv[2], as_of=sys.argv[3])
print(len(judged.series.to_polars()))
"""
FRAME = """
import groundwall, polars, sys, time
history = polars.read_csv(sys.argv[1], try_parse_dates=True, infer_schema_length=None)
start, busy = time.perf_counter(), time.process_time()
judged = groundwall.assess(history, sys.argv[2], as_of=sys.argv[3])
count = len(judged.series.to_polars())
print(count, time.perf_counter() - start, time.process_time() - busy)
"""


def timed(command):
    """What a process prints, with its time by the clock and on the processor, in seconds."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    printed = subprocess.run(command, check=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL).stdout
    seconds, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return printed, seconds, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("history")
    parser.add_argument("register")
    parser.add_argument("--as-of", default="2026-11-25")
    parser.add_argument("--rounds", type=int, default=3, help="rounds [default: 3]")
    arguments = parser.parse_args()
    given = [arguments.history, arguments.register, arguments.as_of]
    found = {"command line": [], "package, path": [], "package, frame": []}

    def note(name, times):
        found[name].append(times)
        print(f"{name}: {times[0]:.2f} s by the clock, {times[1]:.2f} s on the processor", file=sys.stderr, flush=True)

    for _ in range(arguments.rounds):
        command = ["assess", arguments.history, "--register", arguments.register, "--as-of", arguments.as_of, "--no-config", "--format", "csv"]
        printed, *times = timed([arguments.program, *command])
        series = printed.count(b"\n") - 1
        note("command line", times)
        printed, *times = timed([sys.executable, "-c", PATH, *given])
        assert int(printed) == series
        note("package, path", times)
        count, *times = timed([sys.executable, "-c", FRAME, *given])[0].split()
        assert int(count) == series
        note("package, frame", [float(value) for value in times])
    for name, rounds in found.items():
        clock, processor = zip(*rounds)
        print(json.dumps({"what": name, "clock_s": [min(clock), max(clock)], "processor_s": [min(processor), max(processor)]}))


if __name__ == "__main__":
    main()
