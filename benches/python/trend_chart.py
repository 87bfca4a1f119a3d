"""Time of a trend chart drawn with matplotlib, to be compared with `chart-timing`.

Needs: matplotlib (any 3.x), in an environment of its own. From the top of the project:

    python benches/python/trend_chart.py data-demo/history.csv "A-212 stator"

Draws the one-minute readings of a winding, a line through their logarithms with a band, the minimum, a line for today, title
and legend, as a PNG of 1200 by 800 pixels at 150 dpi; the figure is made anew for every chart, as for a report of many
windings. Prints the median of fifteen charts, with the least and the greatest, as time spent on the core. The readings are as read: correcting and fitting
are not what is timed.
"""

import csv
import datetime
import io
import math
import statistics
import sys
import time

import matplotlib

matplotlib.use("Agg")
import matplotlib.dates
import matplotlib.pyplot as plt

ROUNDS = 15
MINIMUM_MOHM = 5.0
AS_OF = datetime.date(2026, 11, 25)
AHEAD_DAYS = 480


def read(path, winding):
    """Days and megohms of the exact one-minute readings of a winding."""
    with open(path, newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["winding"] == winding and row["r_60s"]]
    found = []
    for row in rows:
        try:
            found.append((datetime.date.fromisoformat(row["tested_on"][:10]), float(row["r_60s"])))
        except ValueError:
            continue  # a bound
    return found


def line(days, values):
    """Intercept, slope and scatter of log10 values against days."""
    x, y = [day.toordinal() for day in days], [math.log10(value) for value in values]
    mean_x, mean_y = statistics.fmean(x), statistics.fmean(y)
    slope = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y)) / sum((a - mean_x) ** 2 for a in x)
    rest = [b - mean_y - slope * (a - mean_x) for a, b in zip(x, y)]
    return mean_y - slope * mean_x, slope, statistics.stdev(rest)


def draw(winding, days, values, fit):
    """The chart as the bytes of a PNG."""
    intercept, slope, scatter = fit
    figure, axes = plt.subplots(figsize=(8, 800 / 150), dpi=150)
    end = AS_OF + datetime.timedelta(days=AHEAD_DAYS)
    first, last = days[0].toordinal(), end.toordinal()
    grid = [first + (last - first) * i / 112 for i in range(113)]
    level = [10 ** (intercept + slope * day) for day in grid]
    when = [datetime.date.fromordinal(round(day)) for day in grid]
    today = sum(day <= AS_OF for day in when)
    low, high = [v / 10**scatter for v in level], [v * 10**scatter for v in level]
    axes.set_yscale("log")
    axes.fill_between(when, low, high, color="#cbe0db", label="band")
    axes.plot(when[:today], level[:today], color="#0e6261", linewidth=2, label="fitted level")
    axes.plot(when[today:], level[today:], color="#0e6261", linewidth=2, linestyle="--", label="forecast")
    axes.plot(days, values, "o", color="#182630", markersize=5, label="reading")
    axes.axhline(MINIMUM_MOHM, color="#983c1c", linewidth=1.5, label="minimum")
    axes.axvline(AS_OF, color="#182630", linewidth=1)
    axes.grid(True, axis="y", color="#d6dbdc", linewidth=0.5)
    axes.xaxis.set_major_locator(matplotlib.dates.YearLocator())
    axes.xaxis.set_major_formatter(matplotlib.dates.DateFormatter("%Y"))
    axes.set_title(f"{winding}: one-minute insulation resistance", loc="left")
    axes.set_ylabel("MΩ")
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.1), ncol=5, frameon=False, fontsize=8)
    figure.subplots_adjust(left=0.09, right=0.97, top=0.9, bottom=0.16)
    file = io.BytesIO()
    figure.savefig(file, format="png")
    plt.close(figure)
    return file.getvalue()


def main():
    path, winding = sys.argv[1:3]
    days, values = zip(*read(path, winding))
    fit = line(days, values)
    size = len(draw(winding, days, values, fit))
    rounds = []
    for _ in range(ROUNDS):
        start = time.process_time()
        draw(winding, days, values, fit)
        rounds.append((time.process_time() - start) * 1e3)
    rounds.sort()
    print(f"matplotlib {matplotlib.__version__}: {rounds[ROUNDS // 2]:.1f} ms a chart")
    print(f"({rounds[0]:.1f} to {rounds[-1]:.1f}), {size // 1000} kB")


if __name__ == "__main__":
    main()
