"""Statistics of ratings by scipy and statsmodels. In: {"what": [...cases]}. Out: the same keys, one answer a case.

wilson: [count, n] -> [low, high]; overdispersion: [[count, n], ...] -> Pearson chi-square by degrees of freedom;
ratio: [count, n, count, n] -> score interval of the ratio of two shares; fieller: [weights, weights] -> interval of the ratio
of means, by root finding on the Welch t; dunnett: {groups, control, side} -> p values; slope: [[x, y], ...] -> slope, low, high;
curve: {points, start, four} -> parameters, standard errors (and those by second derivatives), residual standard error."""
import json
import sys

import numpy as np
from scipy import optimize, stats
from statsmodels.genmod.families import Binomial
from statsmodels.genmod.generalized_linear_model import GLM
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint


def wilson(case):
    low, high = proportion_confint(case[0], case[1], method="wilson")
    return [float(low), float(high)]


def overdispersion(case):
    counts = np.array(case, float)
    pots = np.column_stack([counts[:, 0], counts[:, 1] - counts[:, 0]])
    fitted = GLM(pots, np.ones((len(pots), 1)), family=Binomial()).fit()
    return float(fitted.pearson_chi2 / fitted.df_resid)


def ratio(case):
    low, high = confint_proportions_2indep(*case, compare="ratio", method="score", correction=False)
    return [float(low), float(high)]


def fieller(case):
    above, below = (np.array(weights, float) for weights in case)
    x, y = above.mean(), below.mean()
    vx, vy = above.var(ddof=1) / len(above), below.var(ddof=1) / len(below)
    r = x / y
    a, b = vx, r * r * vy
    df = (a + b) ** 2 / (a * a / (len(above) - 1) + b * b / (len(below) - 1))
    t = stats.t.ppf(0.975, df)
    distance = lambda rho: abs(x - rho * y) / np.sqrt(vx + rho * rho * vy) - t
    return [float(optimize.brentq(distance, r - 50, r)), float(optimize.brentq(distance, r, r + 50))]


def dunnett(case):
    # scipy integrates by random points: the mean of several runs has a smaller error.
    runs = [
        stats.dunnett(*case["groups"], control=case["control"], alternative=case["side"], random_state=np.random.default_rng(seed)).pvalue
        for seed in range(12)
    ]
    return np.mean(runs, axis=0).tolist()


def slope(case):
    x, y = np.array(case, float).T
    found = stats.linregress(x, y)
    half = stats.t.ppf(0.975, len(x) - 2) * found.stderr
    return [float(found.slope), float(found.slope - half), float(found.slope + half)]


def hessian(function, at):
    """Second derivatives by central differences."""
    steps = np.diag(1e-4 * np.abs(at))
    n = range(len(at))
    return np.array(
        [
            [
                sum(a * b * function(at + a * steps[i] + b * steps[j]) for a in (1, -1) for b in (1, -1))
                / (4 * steps[i, i] * steps[j, j])
                for j in n
            ]
            for i in n
        ]
    )


def curve(case):
    x, y = np.array(case["points"], float).T

    def response(x, b, d, e, c=0.0):
        with np.errstate(divide="ignore", over="ignore"):
            share = np.where(x > 0, 1 / (1 + np.exp(b * (np.log(x) - np.log(e)))), 1.0)
        return c + (d - c) * share

    start = case["start"] if case["four"] else case["start"][:3]
    fitted, covariance = optimize.curve_fit(response, x, y, p0=start, maxfev=20000, xtol=1e-13, ftol=1e-13, gtol=1e-13)
    rest = y - response(x, *fitted)
    residual = np.sqrt((rest**2).sum() / (len(x) - len(fitted)))
    squares = lambda at: ((y - response(x, *at)) ** 2).sum()
    second = np.sqrt(np.diag(np.linalg.inv(hessian(squares, fitted) / 2)) * residual**2)
    return {"second": second.tolist(), "parameters": fitted.tolist(), "errors": np.sqrt(np.diag(covariance)).tolist(), "residual": float(residual)}


asked = json.load(sys.stdin)
json.dump({what: [globals()[what](case) for case in cases] for what, cases in asked.items()}, sys.stdout)
