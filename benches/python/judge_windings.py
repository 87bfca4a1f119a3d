"""The usual way in Python: one winding after the other.

Packages: pandas, scipy, pymannkendall (and numpy, which they bring). They are no dependency of groundwall.

    python -m venv venv && venv/bin/pip install pandas scipy pymannkendall matplotlib
    venv/bin/python benches/python/judge_windings.py fleet.csv register.csv --sample 200

Reads the whole history with pandas, corrects every reading to 40 °C at once, then for a sample of the windings, spread
evenly over the fleet: the Theil-Sen slope with its interval (scipy), the Mann-Kendall test (pymannkendall), and a line
fitted by maximum likelihood in which readings over the scale are bounds (scipy.optimize). That is less than an assessment
does: no outliers, no falls, no date, no findings. Prints seconds as JSON, by the clock and on the
processor.
"""

import argparse
import json
import time

import numpy as np
import pandas as pd
import pymannkendall
from scipy import optimize, special, stats

KELVIN_BRANCH_COLD, KELVIN_BRANCH_WARM = 1245.0, 4230.0


def read(history, register):
    """All tests, corrected to 40 °C (the two laws of IEEE Std 43-2013 cl. 6.3, from memory)."""
    tests = pd.read_csv(history, dtype={"r_30s": str, "r_60s": str}, parse_dates=["tested_on"])
    plates = pd.read_csv(register, usecols=["winding", "insulation"])
    tests = tests.merge(plates, on="winding", how="left")
    tests["above"] = tests["r_60s"].str.startswith(">")
    r60 = tests["r_60s"].str.lstrip(">").astype(float)
    celsius = tests["winding_temp_c"].to_numpy()
    branch = np.where(celsius < 40.0, KELVIN_BRANCH_COLD, KELVIN_BRANCH_WARM)
    setting = -branch * (1.0 / (celsius + 273.0) - 1.0 / 313.0) / np.log(10.0)
    softening = (celsius - 40.0) / 10.0 * np.log10(2.0)
    law = np.where(tests["insulation"] == "thermosetting", setting, softening)
    tests["log10_mohm"] = np.log10(r60) + law
    last = tests["tested_on"].max()
    tests["years"] = (tests["tested_on"] - last).dt.total_seconds() / (365.25 * 86400.0)
    return tests


def censored_line(years, log10_mohm, above):
    """Level today, slope and scatter of a line by maximum likelihood; `above` are lower bounds."""
    exact = ~above
    few = exact.sum() < 3
    start = stats.linregress(years, log10_mohm) if few else stats.linregress(years[exact], log10_mohm[exact])
    spread = max(0.02, float(np.std(log10_mohm - start.intercept - start.slope * years)))

    def minus_log_likelihood(parameters):
        level, slope, log_scatter = parameters
        scatter = np.exp(log_scatter)
        z = (log10_mohm - level - slope * years) / scatter
        return 0.5 * np.sum(z[exact] ** 2) + exact.sum() * log_scatter - np.sum(special.log_ndtr(-z[above]))

    fit = optimize.minimize(minus_log_likelihood, [start.intercept, start.slope, np.log(spread)], method="L-BFGS-B",
                            bounds=[(None, None), (None, None), (np.log(1e-4), np.log(10.0))])
    return fit.x[0], fit.x[1], float(np.exp(fit.x[2]))


def judge(tests):
    """One winding."""
    years = tests["years"].to_numpy()
    log10_mohm = tests["log10_mohm"].to_numpy()
    above = tests["above"].to_numpy()
    slope = stats.theilslopes(log10_mohm, years, 0.9)
    trend = pymannkendall.original_test(log10_mohm)
    line = censored_line(years, log10_mohm, above)
    # Without bounds the likelihood line is the least-squares line, whatever finds it.
    if not above.any():
        plain = stats.linregress(years, log10_mohm)
        assert abs(line[1] - plain.slope) < 0.02, (line, plain)
    assert np.isfinite([slope.slope, trend.p, *line]).all()
    return slope.slope, trend.p, line


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("history")
    parser.add_argument("register")
    parser.add_argument("--sample", type=int, default=200, help="windings judged [default: 200]")
    arguments = parser.parse_args()
    start, busy = time.perf_counter(), time.process_time()
    tests = read(arguments.history, arguments.register)
    by_winding = tests.groupby("winding", sort=False).indices
    reading, reading_busy = time.perf_counter() - start, time.process_time() - busy
    names = list(by_winding)
    sample = names[:: max(1, len(names) // arguments.sample)][: arguments.sample]
    start, busy = time.perf_counter(), time.process_time()
    judged = [judge(tests.iloc[by_winding[name]]) for name in sample]
    judging, judging_busy = time.perf_counter() - start, time.process_time() - busy
    print(json.dumps({"rows": len(tests), "windings": len(names), "judged": len(judged), "reading_s": reading, "reading_cpu_s": reading_busy,
                      "per_winding_s": judging / len(judged), "per_winding_cpu_s": judging_busy / len(judged)}))


if __name__ == "__main__":
    main()
