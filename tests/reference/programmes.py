"""Programmes by numpy and scipy. In: {"cases": [{"steps": [{"control": [low, likely, high], "cost": c, "parts": [part, ...]}]}]}; a
part is null (not tested) or {"sample": [reduction, se or null], "standard": [reduction, se or null]}, all in %.

Out, one answer a case: likely control left and cost lost, from the likely figures; 10 % and 90 % points of both from 200,000 draws
(triangular control, normal reductions, Dirichlet weights over the actives of a step). What is not tested counts in full."""
import json
import sys

import numpy as np
from scipy import stats

DRAWS = 200_000


def ratio(sample, standard):
    return np.clip(sample / np.clip(standard, 0.01, 100.0), 0.0, 1.0)


def reduction(pair, rng):
    value, se = pair
    return np.full(DRAWS, value) if se is None else stats.norm.rvs(value, se, size=DRAWS, random_state=rng)


def answer(case):
    rng = np.random.default_rng(7)
    left, lost, likely_left, likely_lost = np.ones(DRAWS), np.zeros(DRAWS), 1.0, 0.0
    for step in case["steps"]:
        low, likely, high = step["control"]
        if high > low:
            full = stats.triang.rvs((likely - low) / (high - low), loc=low, scale=high - low, size=DRAWS, random_state=rng)
        else:
            full = np.full(DRAWS, likely)
        parts = step["parts"]
        shares, point = [], []
        for part in parts:
            if part is None:
                shares.append(np.ones(DRAWS))
                point.append(1.0)
            else:
                shares.append(ratio(reduction(part["sample"], rng), reduction(part["standard"], rng)))
                point.append(float(ratio(part["sample"][0], part["standard"][0])))
        weights = stats.dirichlet.rvs(np.ones(len(parts)), size=DRAWS, random_state=rng).T if len(parts) > 1 else [1.0]
        share = np.sum([w * s for w, s in zip(weights, shares)], axis=0)
        left *= 1.0 - full * share / 100.0
        lost += step["cost"] * (1.0 - share)
        likely_left *= 1.0 - likely * np.mean(point) / 100.0
        likely_lost += step["cost"] * (1.0 - np.mean(point))
    control = 100.0 * (1.0 - left)
    return {
        "control": float(100.0 * (1.0 - likely_left)),
        "lost": float(likely_lost),
        "control_band": [float(q) for q in np.quantile(control, [0.1, 0.9])],
        "lost_band": [float(q) for q in np.quantile(lost, [0.1, 0.9])],
    }


json.dump({"cases": [answer(case) for case in json.load(sys.stdin)["cases"]]}, sys.stdout)
