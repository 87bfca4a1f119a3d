"""Whole processes side by side: a bare polars read, groundwall, the usual way in Python, matplotlib.

    cargo build --release
    python3 -m venv venv && venv/bin/pip install pandas scipy pymannkendall matplotlib
    python3 benches/compare/compare.py --python venv/bin/python

Needs nothing but Python 3.10 on a Unix system; without --python the Python side is left out. Everything is run in turn,
several rounds; ratios are taken round by round. Tables go to standard output, progress to standard error. Forty million rows
need 4 GB of disk; --rows and --most-rows set smaller sizes.
"""

import argparse
import datetime
import platform
from pathlib import Path

from parts import PARTS
from works import ROOT, Works


def arguments():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"{', '.join(PARTS)} [default: all of them]")
    parser.add_argument("--rounds", type=int, default=5, help="rounds of everything [default: 5]")
    parser.add_argument("--rows", type=int, default=10_000_000, help="rows of the fleet for speed [default: 10000000]")
    parser.add_argument("--most-rows", type=int, default=40_000_000, help="rows up to which it is scaled [default: 40000000]")
    parser.add_argument("--long-windings", type=int, default=10, help="windings of the long series [default: 10]")
    parser.add_argument("--long-tests", type=int, default=100_000, help="readings in each of them [default: 100000]")
    parser.add_argument("--sample", type=int, default=200, help="windings judged in Python [default: 200]")
    parser.add_argument("--charts", type=int, default=400, help="charts drawn a round [default: 400]")
    parser.add_argument("--reported", type=int, default=2000, help="windings in the report [default: 2000]")
    parser.add_argument("--python", type=Path, help="an interpreter with the packages of benches/python")
    parser.add_argument("--target", type=Path, default=ROOT / "target", help="cargo's target folder")
    parser.add_argument("--folder", type=Path, default=ROOT / "target" / "compare", help="where files are made")
    parser.add_argument("--keep", action="store_true", help="leave charts and report there")
    options = parser.parse_args()
    if unknown := [part for part in options.parts if part not in PARTS]:
        parser.error(f"unknown part {', '.join(unknown)}; the parts are {', '.join(PARTS)}")
    return options


def main():
    options = arguments()
    works = Works(options.folder.absolute(), options.target.absolute(), options.python)
    works.build()
    today = datetime.date.today()
    print(f"{today}, {platform.system()} {platform.machine()}, {options.rounds} rounds: median (least to greatest)\n")
    for part in options.parts or PARTS:
        PARTS[part](works, options)


if __name__ == "__main__":
    main()
