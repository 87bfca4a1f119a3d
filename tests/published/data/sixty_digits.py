"""Recomputes the values marked `computed_to_60_digits` from the data beside this file, and compares.

    pip install mpmath==1.4.1
    python3 tests/published/data/sixty_digits.py

Nothing here uses the library: numbers are read as exact decimals, sums and matrices are worked in 60 digits, quantiles are roots
of the distribution functions. The program ends with status 1 when a stored value differs by more than 1e-12 of itself, and says
which. Values without a formula here (intervals of the profile likelihood, predictions) are counted as not compared.
"""

import csv
import json
import sys
from pathlib import Path

from mpmath import betainc, erfc, exp, findroot, log, matrix, mp, mpf, ncdf, npdf, pi, sqrt

mp.dps = 60
HERE = Path(__file__).parent
TOLERANCE = mpf(10) ** -12


# Distributions

def normal_quantile(p):
    """Root of Phi(x) = p, from the logarithm where the tail is deep."""
    if p == mpf("0.5"):
        return mpf(0)
    start = sqrt(-2 * log(min(p, 1 - p)))
    start = -start if p < 0.5 else start
    return findroot(lambda x: log(erfc(-x / sqrt(2)) / 2) - log(p), start * mpf("0.9"))


def student_quantile(df, p):
    """Root of the distribution function of Student's t; p above one half."""
    upper = lambda t: betainc(mpf(df) / 2, mpf(1) / 2, 0, df / (df + t * t), regularized=True) / 2
    return findroot(lambda t: log(upper(t)) - log(1 - p), normal_quantile(p) + mpf(2) / df)


# Least squares

def weighted(columns, y, weights=None):
    """Coefficients, their covariance and the residual standard deviation of a linear model."""
    n, k = len(y), len(columns)
    w = weights or [mpf(1)] * n
    gram = matrix(k, k)
    right = matrix(k, 1)
    for a in range(k):
        right[a] = sum(w[i] * columns[a][i] * y[i] for i in range(n))
        for b in range(k):
            gram[a, b] = sum(w[i] * columns[a][i] * columns[b][i] for i in range(n))
    inverse = gram ** -1
    coef = inverse * right
    rest = [y[i] - sum(coef[a] * columns[a][i] for a in range(k)) for i in range(n)]
    rss = sum(w[i] * rest[i] ** 2 for i in range(n))
    return summed_up(list(coef), inverse, rss, n - k), inverse


def summed_up(coef, inverse, rss, df):
    k = len(coef)
    variance = rss / df
    cov = [[inverse[a, b] * variance for b in range(k)] for a in range(k)]
    return {
        "coef": coef, "cov": cov, "se": [sqrt(abs(cov[a][a])) for a in range(k)],
        "rss": rss, "df": df, "residual_sd": sqrt(abs(variance)),
    }


def line(columns, y, weights=None, intercept=True):
    found, _ = weighted(columns, y, weights)
    w = weights or [mpf(1)] * len(y)
    mean = sum(a * b for a, b in zip(w, y)) / sum(w) if intercept else mpf(0)
    total = sum(a * (b - mean) ** 2 for a, b in zip(w, y))
    found["r_squared"] = 1 - found["rss"] / total
    t = student_quantile(found["df"], mpf("0.975"))
    found["coef_ci"] = [[c - t * s, c + t * s] for c, s in zip(found["coef"], found["se"])]
    return found


def power_law(t, y, start, leakage):
    """y = A t^-n (+ leakage), by Gauss and Newton, additive error; n is given as -n where the power rises."""
    beta = [mpf(x) for x in start]
    for _ in range(200):
        value = [beta[0] * x ** -beta[1] + (beta[2] if leakage else 0) for x in t]
        rest = [a - b for a, b in zip(y, value)]
        slopes = [[x ** -beta[1] for x in t], [-beta[0] * log(x) * x ** -beta[1] for x in t]]
        if leakage:
            slopes.append([mpf(1)] * len(t))
        step, inverse = weighted(slopes, rest)
        beta = [b + s for b, s in zip(beta, step["coef"])]
        if max(abs(s) for s in step["coef"]) < mpf(10) ** -45:
            break
    rss = sum((a - beta[0] * x ** -beta[1] - (beta[2] if leakage else 0)) ** 2 for a, x in zip(y, t))
    return summed_up(beta, inverse, rss, len(y) - len(beta))


# Censored regression: maximum likelihood for a normal distribution, in (beta / sigma, 1 / sigma)

def censored(columns, low, high):
    """Newton's method on gamma = beta/sigma and h = 1/sigma, where the likelihood has one maximum."""
    n, k = len(low), len(columns)

    def terms(params):
        gamma, h = params[:k], params[k]
        value, slope, curve = mpf(0), matrix(k + 1, 1), matrix(k + 1, k + 1)
        for i in range(n):
            x = [column[i] for column in columns]
            mean = sum(g * v for g, v in zip(gamma, x))
            if low[i] is not None and low[i] == high[i]:
                z = h * low[i] - mean
                value += log(h) + log(npdf(z))
                d = [v for v in x] + [-low[i]]
                for a in range(k + 1):
                    slope[a] += z * d[a]
                    for b in range(k + 1):
                        curve[a, b] -= d[a] * d[b]
                slope[k] += 1 / h
                curve[k, k] -= 1 / h ** 2
                continue
            ends = [None if end is None else h * end - mean for end in (low[i], high[i])]
            below = mpf(0) if ends[0] is None else ncdf(ends[0])
            above = mpf(0) if ends[1] is None else erfc(ends[1] / sqrt(2)) / 2
            share = erfc(ends[0] / sqrt(2)) / 2 - above if ends[0] is not None else ncdf(ends[1]) - below
            value += log(share)
            first = [mpf(0)] * (k + 1)
            second = matrix(k + 1, k + 1)
            for end, z, sign in ((low[i], ends[0], -1), (high[i], ends[1], 1)):
                if z is None:
                    continue
                d = [-v for v in x] + [end]
                for a in range(k + 1):
                    first[a] += sign * npdf(z) * d[a]
                    for b in range(k + 1):
                        second[a, b] -= sign * z * npdf(z) * d[a] * d[b]
            for a in range(k + 1):
                slope[a] += first[a] / share
                for b in range(k + 1):
                    curve[a, b] += second[a, b] / share - first[a] * first[b] / share ** 2
        return value, slope, curve

    middle = [b if a is None else a if b is None else (a + b) / 2 for a, b in zip(low, high)]
    start, _ = weighted(columns, middle)
    h = 1 / max(start["residual_sd"], mpf("0.05"))
    params = [c * h for c in start["coef"]] + [h]
    value, slope, curve = terms(params)
    for _ in range(200):
        step = curve ** -1 * slope
        scale = mpf(1)
        while True:
            trial = [p - scale * s for p, s in zip(params, step)]
            if trial[k] > 0 and (found := terms(trial))[0] >= value - mpf(10) ** -50:
                break
            scale /= 2
        params, (value, slope, curve) = trial, found
        if max(abs(s) for s in step) * scale < mpf(10) ** -45:
            break
    sigma = 1 / params[k]
    beta = [p * sigma for p in params[:k]]
    # From (gamma, h) to (beta, log sigma): beta = gamma/h, log sigma = -log h.
    jacobian = matrix(k + 1, k + 1)
    for a in range(k):
        jacobian[a, a] = sigma
        jacobian[a, k] = -params[a] * sigma ** 2
    jacobian[k, k] = -sigma
    cov = jacobian * (-curve) ** -1 * jacobian.T
    found = {
        "coef": beta, "sigma": sigma, "log_sigma": log(sigma), "loglik": value,
        "cov_beta_logsigma": [[cov[a, b] for b in range(k + 1)] for a in range(k + 1)],
        "se_beta": [sqrt(cov[a, a]) for a in range(k)],
        "se_log_sigma": sqrt(cov[k, k]), "se_sigma": sigma * sqrt(cov[k, k]),
    }
    scale = [mpf(1)] * k + [sigma]
    found["cov_beta_sigma"] = [[cov[a, b] * scale[a] * scale[b] for b in range(k + 1)] for a in range(k + 1)]
    return found


# Inverse prediction (Fieller 1954)

def calibration(x, y, query):
    ones = [mpf(1)] * len(x)
    found, _ = weighted([ones, x], y)
    a, b = found["coef"]
    y0, m, s = mpf(query["y0"]), query["m"], found["residual_sd"]
    n, mean = len(x), sum(x) / len(x)
    spread = sum((v - mean) ** 2 for v in x)
    t = student_quantile(n - 2, mpf("0.975"))
    own = 0 if query["mean_response"] else mpf(1) / m
    x0 = (y0 - a) / b
    g = t ** 2 * s ** 2 / (b ** 2 * spread)
    wald = s / abs(b) * sqrt(own + mpf(1) / n + (x0 - mean) ** 2 / spread)
    # (y0 - a - b x)^2 <= t^2 s^2 (own + 1/n + (x - mean)^2 / spread), a square in x - mean.
    far = y0 - a - b * mean
    lead, linear = b ** 2 - t ** 2 * s ** 2 / spread, -2 * b * far
    rest = far ** 2 - t ** 2 * s ** 2 * (own + mpf(1) / n)
    root = sqrt(linear ** 2 - 4 * lead * rest)
    ends = sorted(mean + (-linear + sign * root) / (2 * lead) for sign in (-1, 1))
    names = {"x0": x0, "g": g, "wald_se": wald, "wald": [x0 - t * wald, x0 + t * wald]}
    names["fieller" if lead > 0 else "fieller_half_line_ends"] = ends
    return names


def paule_mandel(slopes, variances):
    def pooled(tau2):
        w = [1 / (v + tau2) for v in variances]
        mean = sum(a * b for a, b in zip(w, slopes)) / sum(w)
        return w, mean, sum(a * (b - mean) ** 2 for a, b in zip(w, slopes))

    tau2 = findroot(lambda x: pooled(x)[2] - (len(slopes) - 1), (mpf("0.004"), mpf("0.0045")))
    w, mean, _ = pooled(tau2)
    shrunken = [(b * tau2 + mean * v) / (tau2 + v) for b, v in zip(slopes, variances)]
    return {"Q": pooled(mpf(0))[2], "paule_mandel": {"tau2": tau2, "mean": mean, "se": 1 / sqrt(sum(w)), "shrunken": shrunken}}


def one_step(y):
    n = len(y)
    square = lambda part: sum((v - sum(part) / len(part)) ** 2 for v in part)
    rss, at = min((square(y[:i]) + square(y[i:]), i) for i in range(2, n - 1))
    before, after = sum(y[:at]) / at, sum(y[at:]) / (n - at)
    f = (square(y) - rss) / (rss / (n - 2))
    return {"n": n, "least_squares": {"location": at, "rss0": square(y), "rss1": rss, "mean_before": before, "mean_after": after, "F": f}}


# The cases

def table(case, shared):
    if "csv" in case:
        with open(HERE / case["csv"], newline="") as file:
            rows = list(csv.DictReader(file))
        return {name: [row[name] for row in rows] for name in rows[0]}
    data = case.get("data") or shared[case["data_in"]]
    return {name: [str(value) for value in column] for name, column in data.items()}


def numbers(column):
    return [mpf(value) for value in column]


def bounds(data):
    end = lambda text: mpf(text) if text else None
    return [end(text) for text in data["lo"]], [end(text) for text in data["hi"]]


def recomputed(case, shared):
    name = case["id"]
    if name == "syn-fleet-meta":
        stored = case["computed_to_60_digits"]
        return paule_mandel(numbers(map(repr, stored["slopes"])), numbers(map(repr, stored["variances"])))
    data = table(case, shared)
    ones = [mpf(1)] * len(next(iter(data.values())))
    column = lambda key: numbers(data[key])
    if name.endswith("-calibration"):
        x, y = (numbers(values) for values in data.values())
        queries = case["computed_to_60_digits"]["queries"]
        return {"queries": [calibration(x, y, query) for query in queries]}
    if name == "nile-step":
        return one_step(column("flow"))
    if name.startswith("syn-tobit"):
        columns = [ones, column("t_years")]
        if "temp_c" in data:
            columns.append([1000 / (c + mpf("273.15")) - 1000 / mpf("313.15") for c in column("temp_c")])
        return censored(columns, *bounds(data))
    if name.startswith("motorettes"):
        arrhenius = name == "motorettes-arrhenius-lognormal"
        y = [log(h) / (log(10) if arrhenius else 1) for h in column("time_h")]
        x = [1000 / (c + mpf("273.2")) if arrhenius else c for c in column("temp_c")]
        return censored([ones, x], y, [v if mpf(f) == 1 else None for v, f in zip(y, data["failed"])])
    if name == "gales-creek-chromium":
        y = [log(c) for c in column("tcr")]
        low = [None if mpf(c) == 1 else v for v, c in zip(y, data["censored"])]
        return censored([ones, [t - 2013 for t in column("dectime")], [log(q) for q in column("discharge")]], low, y)
    if name == "tobin-durable":
        y = column("durable")
        return censored([ones, column("age"), column("quant")], [v if v > 0 else None for v in y], y)
    if name == "nist-danwood":
        found = power_law(column("x"), column("y"), ("0.77", "-3.86"), False)
        found["coef"][1] = -found["coef"][1]
        for a, b in ((0, 1), (1, 0)):
            found["cov"][a][b] = -found["cov"][a][b]
        return found
    if name in ("syn-absorption-nls", "syn-absorption-leak-nls"):
        leakage = "leak" in name
        return power_law(column("t_s"), column("i_ua"), ("45", "0.85", "0.2") if leakage else ("45", "0.8"), leakage)
    logs = {"danwood-loglog": ("x", "y"), "syn-absorption-loglog": ("t_s", "i_ua")}
    if name in logs:
        x, y = logs[name]
        return line([ones, [log(v) for v in column(x)]], [log(v) for v in column(y)])
    if name == "syn-arrhenius":
        return line([ones, [1 / (c + mpf("273.15")) for c in column("temp_c")]], [log(r) for r in column("r_mohm")])
    if name in ("syn-weighted", "syn-outliers-ols"):
        return line([ones, column("t_years")], column("log10_r"), column("weight") if "weight" in data else None)
    if name.startswith("massart"):
        return line([ones, column("x")], column("y"), column("w") if "w" in data else None)
    if name == "nist-noint1":
        return line([column("x")], column("y"), intercept=False)
    if name == "nist-longley":
        return line([ones] + [column(f"x{i}") for i in range(1, 7)], column("y"))
    degree = {"nist-norris": 1, "nist-pontius": 2}.get(name, 5)
    return line([[x ** power for x in column("x")] for power in range(degree + 1)], column("y"))


# Comparison

class Count:
    def __init__(self):
        self.compared, self.open, self.wrong = 0, 0, []

    def compare(self, name, stored, found):
        if isinstance(stored, dict):
            for key, value in stored.items():
                if isinstance(found, dict) and key in found:
                    self.compare(f"{name}.{key}", value, found[key])
                else:
                    self.open += 1
        elif isinstance(stored, list):
            for i, value in enumerate(stored):
                self.compare(f"{name}[{i}]", value, found[i])
        else:
            self.compared += 1
            # What is zero in theory is stored as what rounding left of it.
            if abs(mpf(stored) - found) > TOLERANCE * abs(found) + mpf(10) ** -30:
                self.wrong.append(f"{name}: stored {stored}, computed {mp.nstr(found, 17)}")


def main():
    count = Count()
    for path in sorted(HERE.glob("*.json")):
        content = json.loads(path.read_text())
        for case in content.get("cases", []):
            stored = case.get("computed_to_60_digits", {})
            if stored.get("finite_mle") is False:
                count.open += 1
                continue
            count.compare(case["id"], stored, recomputed(case, content.get("data", {})))
    quantiles = json.loads((HERE / "quantiles.json").read_text())
    for p, stored in quantiles["norm_ppf"]:
        count.compare(f"normal {p}", stored, normal_quantile(mpf(repr(p))))
    for df, p, stored in quantiles["t_ppf_df_p"]:
        count.compare(f"t {df} {p}", stored, student_quantile(df, mpf(repr(p))))
    print(f"{count.compared} numbers compared, {len(count.wrong)} differ, {count.open} entries without a formula here")
    print("\n".join(count.wrong))
    return 1 if count.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
