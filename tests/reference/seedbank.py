"""The seedbank model at fixed values, written from its description with numpy matrices, and quantiles of its draws with scipy.

Input {"runs": [{"values", "years": [{"cultivation", "sown", "lateness", "control", "removed", "more_plants", "competitive"}],
"unit", "parts": [[share, density]]}], "ranges": [[low, likely, high]], "at": [u], "draws": [[x]], "loss": [[d, i, a]]}.
Output {"runs": [[[heads, plants, seeds] by year]], "quantiles": [[x]], "bands": [[low, median, high]], "loss": [y]}.
"""

import json
import sys

import numpy as np
from scipy import stats

data = json.load(sys.stdin)
MOVES = {"plough": ("plough_buries", "plough_brings_up"), "deep": ("deep_buries", "deep_brings_up"),
         "shallow": ("shallow_buries", "shallow_brings_up"), "direct-drill": (None, None)}


def run(values, years, unit, parts):
    v = values
    chain = v["seeds_a_head"] * v["returned"] * v["viable"] * v["survive"]
    shares = np.array([share for share, _ in parts])
    density = np.array([value for _, value in parts])
    crowd = lambda plants: 1.0 / (1.0 / (v["heads_a_plant"] * plants) + 1.0 / v["greatest_heads"]) if plants > 0 else 0.0
    heads = density if unit == "heads/m2" else np.array([crowd(plants) for plants in density])
    top = heads * chain / v["fresh_share"]
    bank = np.vstack([top, v["buried_at_start"] * top])
    out = []
    for year in years:
        down, up = (0.0 if key is None else v[key] for key in MOVES[year["cultivation"]])
        moved = np.array([[1 - down, up], [down, 1 - up]]) @ bank
        sown = year["sown"]
        spared = {"autumn": 1 - year["lateness"] * v["drilled_late"], "spring": 1 - v["spring_sown"], "none": 1.0}[sown]
        survive = 1 - (v["no_crop"] if sown == "none" else year["control"])
        plants = v["emerge"] * moved[0] * spared * survive
        press = 1.0 if sown == "none" else (1 - v["crop_plants"]) ** year["more_plants"] * (
            1 - v["competitive"] if year["competitive"] else 1.0)
        standing = np.array([crowd(p) for p in plants]) * press * (1 - year["removed"])
        bank = (1 - v["decline"]) * moved + np.vstack([standing * chain, np.zeros_like(standing)])
        out.append([float(shares @ standing), float(shares @ plants), float(shares @ bank.sum(axis=0))])
    return out


def quantile(low, likely, high, u):
    if u < 0.5:
        return float(stats.triang.ppf(2 * u, 1.0, low, likely - low)) if likely > low else likely
    return float(stats.triang.ppf(2 * u - 1, 0.0, likely, high - likely)) if high > likely else likely


answer = {
    "runs": [run(r["values"], r["years"], r["unit"], r["parts"]) for r in data["runs"]],
    "quantiles": [[quantile(*r, u) for u in data["at"]] for r in data["ranges"]],
    "bands": [np.percentile(x, [10, 50, 90]).tolist() for x in data["draws"]],
    # The double reciprocal form of the hyperbola: 1/y = 1/(i d) + 1/a.
    "loss": [1 / (1 / (i * d) + 1 / a) for d, i, a in data["loss"]],
}
print(json.dumps(answer))
