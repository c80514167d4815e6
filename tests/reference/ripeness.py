"""Logistic curves of shed seed by statsmodels and scipy.

In: {"looks": [[field, day, share], ...], "fields": n, "prior": {"slope": [b, sd of ln b], "middle": [day, sd], "between": days,
"dispersion": phi}, "unseen": true or false}. sd may be null: nothing is believed.
Out: "glm": one slope and a middle for each field without any prior (statsmodels, binomial family with shares, scale phi): slope, days
of 10 % by field and their standard errors; "penalised": the same curves with priors and normal field shifts (scipy, BFGS then
Newton on numerical derivatives): slope, middle, days of 10 % by field, their standard errors from the dense expected information;
"between": the standard deviation of fields that makes the checks most likely, shifts integrated out numerically (scipy, quad).
"""
import json
import sys

import numpy as np
import statsmodels.api as sm
from scipy import integrate, optimize

task = json.load(sys.stdin)
field = np.array([look[0] for look in task["looks"]], dtype=int)
day = np.array([look[1] for look in task["looks"]])
share = np.array([look[2] for look in task["looks"]])
fields = task["fields"]
prior = task["prior"]
phi = prior["dispersion"]
LOGIT10 = np.log(0.1 / 0.9)


def precision(sd):
    return 0.0 if sd is None else 1.0 / sd**2


def glm():
    design = np.column_stack([day, *[(field == f).astype(float) for f in range(fields)]])
    fitted = sm.GLM(share, design, family=sm.families.Binomial()).fit(scale=phi, tol=1e-12, maxiter=200)
    b, a = fitted.params[0], fitted.params[1:]
    days = (LOGIT10 - a) / b
    errors = []
    for f in range(fields):
        gradient = np.zeros(fields + 1)
        gradient[0] = -days[f] / b
        gradient[1 + f] = -1.0 / b
        errors.append(float(np.sqrt(gradient @ fitted.cov_params() @ gradient)))
    return {"slope": float(b), "days": days.tolist(), "errors": errors}


def eta(x):
    return np.exp(x[0]) * (day - x[1] - x[2 + field])


def minus_log(e, p):
    """Of the share p under a logit e, without the dispersion."""
    return np.logaddexp(0.0, e) - p * e


def objective(x, between):
    slope, middle = prior["slope"], prior["middle"]
    value = minus_log(eta(x), share).sum() / phi
    value += 0.5 * precision(slope[1]) * (x[0] - np.log(slope[0])) ** 2
    value += 0.5 * precision(middle[1]) * (x[1] - middle[0]) ** 2
    return value + 0.5 * (x[2:] ** 2).sum() / between**2


def penalised(between):
    start = np.concatenate([[np.log(prior["slope"][0]), prior["middle"][0]], np.zeros(fields)])
    found = optimize.minimize(objective, start, args=(between,), method="BFGS", options={"gtol": 1e-9, "maxiter": 10_000})
    x = optimize.minimize(objective, found.x, args=(between,), method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-14, "maxiter": 40_000, "maxfev": 40_000}).x
    slope, away = np.exp(x[0]), day - x[1] - x[2 + field]
    jacobian = np.zeros((len(day), 2 + fields))
    jacobian[:, 0] = slope * away
    jacobian[:, 1] = -slope
    jacobian[np.arange(len(day)), 2 + field] = -slope
    p = 1.0 / (1.0 + np.exp(-eta(x)))
    information = jacobian.T @ (jacobian * (p * (1 - p) / phi)[:, None])
    information += np.diag([precision(prior["slope"][1]), precision(prior["middle"][1]), *[1.0 / between**2] * fields])
    covariance = np.linalg.inv(information)
    days, errors = [], []
    for f in range(fields):
        gradient = np.zeros(2 + fields)
        gradient[0], gradient[1], gradient[2 + f] = -LOGIT10 / slope, 1.0, 1.0
        days.append(float(x[1] + x[2 + f] + LOGIT10 / slope))
        errors.append(float(np.sqrt(gradient @ covariance @ gradient)))
    gradient = np.zeros(2 + fields)
    gradient[0], gradient[1] = -LOGIT10 / slope, 1.0
    unseen = float(np.sqrt(gradient @ covariance @ gradient + between**2))
    return {"slope": float(slope), "middle": float(x[1]), "days": days, "errors": errors, "unseen_error": unseen}


def marginal(between, slope, middle):
    """Logarithm of the likelihood of the checks with the shifts integrated out, slope and middle given."""
    total = 0.0
    for f in range(fields):
        own = field == f

        def density(u):
            e = slope * (day[own] - middle - u)
            return np.exp(-minus_log(e, share[own]).sum() / phi + base - 0.5 * (u / between) ** 2) / between

        grid = np.linspace(-6 * between, 6 * between, 4001)
        logs = np.array([-minus_log(slope * (day[own] - middle - u), share[own]).sum() / phi for u in grid])
        base = -logs.max()
        total += np.log(integrate.trapezoid([density(u) for u in grid], grid)) - base
    return total


def best_between():
    spread, sd = prior["between_prior"]

    def loss(log):
        between = np.exp(log)
        fitted = penalised_fast(between)
        belief = 0.5 * ((log - np.log(spread)) / sd) ** 2
        slope, middle = prior["slope"], prior["middle"]
        belief += 0.5 * precision(slope[1]) * (np.log(fitted[0]) - np.log(slope[0])) ** 2
        belief += 0.5 * precision(middle[1]) * (fitted[1] - middle[0]) ** 2
        return belief - marginal(between, *fitted)

    found = optimize.minimize_scalar(loss, bounds=(np.log(0.25), np.log(15.0)), method="bounded", options={"xatol": 1e-3})
    return float(np.exp(found.x))


def penalised_fast(between):
    start = np.concatenate([[np.log(prior["slope"][0]), prior["middle"][0]], np.zeros(fields)])
    x = optimize.minimize(objective, start, args=(between,), method="BFGS").x
    return float(np.exp(x[0])), float(x[1])


answer = {}
if "glm" in task["wanted"]:
    answer["glm"] = glm()
if "penalised" in task["wanted"]:
    answer["penalised"] = penalised(prior["between"])
if "between" in task["wanted"]:
    answer["between"] = best_between()
json.dump(answer, sys.stdout)
