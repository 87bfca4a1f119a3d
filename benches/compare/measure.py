"""One run of a command, and what several rounds of it come to."""

import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass


@dataclass(frozen=True)
class Run:
    """One finished command, as the system accounts for it."""

    seconds: float
    cpu_seconds: float
    peak_bytes: int
    out: str


def run(command, **environment):
    """Runs a command to its end; a failure ends the comparison."""
    command = [str(part) for part in command]
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as words:
        start = time.perf_counter()
        child = subprocess.Popen(command, stdout=out, stderr=words, env={**os.environ, **environment})
        _, status, usage = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - start
        child.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        words.seek(0)
        if child.returncode != 0:
            sys.exit(f"{' '.join(command)}: exit status {child.returncode}\n{words.read().decode(errors='replace')}")
        peak = usage.ru_maxrss * (1 if sys.platform == "darwin" else 1024)
        return Run(seconds, usage.ru_utime + usage.ru_stime, peak, out.read().decode(errors="replace"))


class Figure:
    """One figure over several rounds."""

    def __init__(self, values):
        self.values = list(values)

    @property
    def median(self):
        return statistics.median(self.values)

    def over(self, other):
        """The ratio, round by round, so that a machine whose speed drifts does little harm."""
        return Figure(a / b for a, b in zip(self.values, other.values, strict=True))

    def words(self, unit="", digits=3):
        """Median, with the least and the greatest."""
        middle, least, greatest = (significant(value, digits) for value in (self.median, min(self.values), max(self.values)))
        gap = f" {unit}" if unit else ""
        return f"{middle}{gap} ({least} to {greatest})"


def significant(value, digits):
    """A number to so many significant digits, as plain decimals."""
    before_point = math.floor(math.log10(abs(value))) + 1 if value else 1
    return f"{value:.{max(0, digits - before_point)}f}"


def in_turn(commands, rounds):
    """Runs each of the named calls once a round, in the order given; gives the list of results of each."""
    results = {name: [] for name in commands}
    for number in range(rounds):
        for name, call in commands.items():
            print(f"round {number + 1} of {rounds}: {name}", file=sys.stderr, flush=True)
            results[name].append(call())
    return results


def seconds(runs):
    return Figure(run.seconds for run in runs)


def cpu_seconds(runs):
    """Time on all processors together: it suffers less than the time on the wall where others are at work."""
    return Figure(run.cpu_seconds for run in runs)


def peak_mib(runs):
    return Figure(run.peak_bytes / 2**20 for run in runs)


def table(head, rows):
    """Prints a Markdown table."""
    print(f"| {' | '.join(head)} |")
    print(f"|{' --- |' * len(head)}")
    for row in rows:
        print(f"| {' | '.join(row)} |")
    print(flush=True)
