"""What is compared: the programs, and the files they are given."""

import hashlib
import json
import os
import subprocess
from pathlib import Path

from measure import run

ROOT = Path(__file__).resolve().parents[2]
PYTHON_SCRIPTS = ROOT / "benches" / "python"
AS_OF = "2026-11-25"
TESTS = 40


class Works:
    """The programs under comparison, and a folder for what they read and write."""

    def __init__(self, folder, target, python):
        self.folder, self.target, self.python = folder, target, python
        folder.mkdir(parents=True, exist_ok=True)

    def build(self):
        cargo = ["cargo", "build", "--release", "--locked", "--target-dir", str(self.target)]
        names = ["--example", "polars-read", "--example", "draw-charts"]
        subprocess.run([*cargo, "-p", "groundwall-engine", "--features", "frames", *names], cwd=ROOT, check=True)
        subprocess.run([*cargo, "-p", "groundwall-cli", "--bin", "groundwall"], cwd=ROOT, check=True)
        subprocess.run([*cargo, "-p", "groundwall", "--example", "make-fleet"], cwd=ROOT, check=True)

    def program(self, name):
        return self.target / "release" / name

    def example(self, name):
        return self.target / "release" / "examples" / name

    def fleet(self, windings, tests=TESTS, *options):
        """Makes a fleet."""
        return Fleet(self, windings, tests, options)

    def in_python(self, script, *arguments):
        """Runs a script of the usual way and reads the figures it prints."""
        return run([self.python, PYTHON_SCRIPTS / script, *arguments])

    def groundwall(self, *arguments, **environment):
        return run([self.program("groundwall"), *arguments], **environment)


class Fleet:
    """A generated history with its register; removed when done with."""

    def __init__(self, works, windings, tests, options):
        self.works, self.windings, self.rows = works, windings, windings * tests
        stem = "-".join(["fleet", str(windings), str(tests), *(option.strip("-") for option in options)])
        self.history, self.register = works.folder / f"{stem}.csv", works.folder / f"{stem}-register.csv"
        self.result = works.folder / f"{stem}-result.csv"
        sizes = ["--windings", windings, "--tests", tests, "--out", self.history, "--register", self.register]
        run([works.example("make-fleet"), *sizes, *options])
        self.bytes = self.history.stat().st_size
        self.digest = None

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.remove()

    def remove(self):
        for path in (self.history, self.register, self.result):
            path.unlink(missing_ok=True)

    def read_by_polars(self):
        done = run([self.works.example("polars-read"), self.history])
        assert json.loads(done.out)["rows"] == self.rows, done.out
        return done

    def assessed(self, threads=None):
        """`assess`, all statistics and findings, the results as CSV: every winding, and the same bytes every time."""
        environment = {"RAYON_NUM_THREADS": str(threads), "POLARS_MAX_THREADS": str(threads)} if threads else {}
        options = ["--register", self.register, "--as-of", AS_OF, "--format", "csv", "--out", self.result]
        done = self.works.groundwall("assess", self.history, *options, **environment)
        result = self.result.read_bytes()
        lines, digest = result.count(b"\n"), hashlib.sha256(result).hexdigest()
        assert lines == self.windings + 1, f"{self.result}: {lines} lines for {self.windings} windings"
        assert self.digest in (None, digest), f"{self.result}: other bytes than in the run before"
        self.digest = digest
        return done

    def judged_in_python(self, sample):
        """Seconds for the whole fleet: reading as measured, the sample's cost a winding times the windings."""
        done = self.works.in_python("judge_windings.py", self.history, self.register, "--sample", sample)
        figures = json.loads(done.out)
        assert figures["rows"] == self.rows and figures["windings"] == self.windings, figures
        return {"whole": figures["reading_s"] + figures["per_winding_s"] * self.windings,
                "whole_cpu": figures["reading_cpu_s"] + figures["per_winding_cpu_s"] * self.windings}


def threads_here():
    """Processors that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
