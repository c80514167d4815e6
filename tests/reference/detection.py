"""Chance of at least one under a beta-binomial, by scipy. In: [[p, rho, n], ...]. Out: [chance, ...]."""
import json
import sys

from scipy.stats import betabinom

chances = []
for p, rho, n in json.load(sys.stdin):
    a, b = p * (1 - rho) / rho, (1 - p) * (1 - rho) / rho
    chances.append(float(1 - betabinom.pmf(0, n, a, b)))
json.dump(chances, sys.stdout)
