"""The peers of the benchmark, timed without start and imports. In: {"task", ...}. Out: {"seconds", ...}; the least of three runs.

kmeans: "points", "weights" -> "inertia", by scikit-learn with 30 centres and 10 starts.
krige_all, krige_near: "points" [[x, y, value]], "cells" [[x, y]], "nugget", "psill", "range", "nearest" -> "mean", by PyKrige.
"""
import json
import sys
import time

import numpy as np


def kmeans(given):
    from sklearn.cluster import KMeans

    points, weights = np.array(given["points"]), np.array(given["weights"])
    return lambda: {"inertia": KMeans(n_clusters=30, n_init=10, random_state=0).fit(points, sample_weight=weights).inertia_}


def krige(given, **near):
    from pykrige.ok import OrdinaryKriging

    points, cells = np.array(given["points"]), np.array(given["cells"])
    parameters = {"psill": given["psill"], "range": given["range"], "nugget": given["nugget"]}

    def run():
        kriging = OrdinaryKriging(*points.T, variogram_model="spherical", variogram_parameters=parameters)
        values, _variances = kriging.execute("points", cells[:, 0], cells[:, 1], **near)
        return {"mean": float(np.mean(values))}

    return run


given = json.load(sys.stdin)
near = {"backend": "C", "n_closest_points": given.get("nearest")}
run = {"kmeans": kmeans, "krige_all": krige, "krige_near": lambda given: krige(given, **near)}[given["task"]](given)
least = float("inf")
for _ in range(3):
    start = time.perf_counter()
    found = run()
    least = min(least, time.perf_counter() - start)
json.dump({"seconds": least, **found}, sys.stdout)
