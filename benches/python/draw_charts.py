"""Trend charts with matplotlib, 1200 × 800 pixels, to set beside those of groundwall.

Packages: pandas, scipy, matplotlib (and numpy, which they bring). They are no dependency of groundwall.

    venv/bin/python benches/python/draw_charts.py fleet.csv register.csv --charts 20 --out charts/

Each chart shows the corrected readings over the years, readings over the scale as triangles, the Theil-Sen line with its
interval carried on for two years, and a minimum, on a logarithmic axis with title and legend. What is timed is drawing,
encoding and writing, not the reading and not the fit. `--processes 2` spreads the charts over processes. Prints seconds as
JSON.
"""

import argparse
import json
import multiprocessing
import os
import time

import matplotlib

matplotlib.use("Agg")

import matplotlib.pyplot as plt
import numpy as np
from scipy import stats

from judge_windings import read

MINIMUM_MOHM = 5.0


def prepare(name, tests):
    """What a chart shows, as plain data."""
    years, log10_mohm = tests["years"].to_numpy(), tests["log10_mohm"].to_numpy()
    line = stats.theilslopes(log10_mohm, years, 0.9)
    pivot = (np.median(years), np.median(log10_mohm))
    return {"name": name, "day": tests["tested_on"].to_numpy(), "mohm": 10.0**log10_mohm, "above": tests["above"].to_numpy(),
            "slopes": (line.slope, line.low_slope, line.high_slope), "pivot": pivot, "first": years.min()}


def draw(chart, folder):
    """Draws and writes one chart; gives its size in bytes."""
    figure, axes = plt.subplots(figsize=(8.0, 16.0 / 3.0), dpi=150)
    exact, above = ~chart["above"], chart["above"]
    axes.plot(chart["day"][exact], chart["mohm"][exact], "o", ms=4, label="reading")
    axes.plot(chart["day"][above], chart["mohm"][above], "^", ms=5, mfc="none", label="over the scale")
    years = np.linspace(chart["first"], 2.0, 60)
    days = chart["day"].max() + (years * 365.25 * 86400e9).astype("timedelta64[ns]")
    middle, low, high = (10.0 ** (chart["pivot"][1] + slope * (years - chart["pivot"][0])) for slope in chart["slopes"])
    axes.plot(days, middle, label="line")
    axes.fill_between(days, low, high, alpha=0.2, label="90 %")
    axes.axhline(MINIMUM_MOHM, ls="--", label="minimum")
    axes.set_yscale("log")
    axes.set_title(f"{chart['name']}: insulation resistance at 40 °C")
    axes.set_ylabel("MΩ, corrected to 40 °C")
    axes.grid(True, which="both", alpha=0.3)
    axes.legend()
    path = os.path.join(folder, f"{chart['name']}.png")
    figure.savefig(path)
    plt.close(figure)
    with open(path, "rb") as file:
        head = file.read(24)
    assert head[:8] == b"\x89PNG\r\n\x1a\n" and head[16:] == (1200).to_bytes(4, "big") + (800).to_bytes(4, "big"), path
    return os.path.getsize(path)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("history")
    parser.add_argument("register")
    parser.add_argument("--charts", type=int, default=20, help="charts drawn [default: 20]")
    parser.add_argument("--processes", type=int, default=1, help="processes that draw [default: 1]")
    parser.add_argument("--out", required=True, help="folder for the charts")
    arguments = parser.parse_args()
    os.makedirs(arguments.out, exist_ok=True)
    by_winding = read(arguments.history, arguments.register).groupby("winding", sort=False)
    charts = [prepare(name, tests) for name, tests in by_winding][: arguments.charts]
    jobs = [(chart, arguments.out) for chart in charts]
    # The first chart pays for the fonts; it is drawn once beforehand, in every process.
    with multiprocessing.Pool(arguments.processes, draw, jobs[0]) as pool:
        pool.starmap(draw, jobs[: arguments.processes], chunksize=1)
        start = time.perf_counter()
        size = sum(pool.starmap(draw, jobs))
        seconds = time.perf_counter() - start
    print(json.dumps({"charts": len(jobs), "seconds": seconds, "bytes": size}))


if __name__ == "__main__":
    main()
