"""Geostatistics by PyKrige, scipy and numpy, on request. In: {"task": NAME, ...}.

meuse: the heavy metal survey of Burrough & McDonnell 1998, from scikit-gstat's package -> [[x, y, zinc in ppm]].
krige_each: "points" [[x, y, value]], "cells" [[x, y]], "cases" [[{shape, nugget, partial_sill, range_m}, neighbours or null]]
    -> [{"values", "variances"}], by PyKrige.
leave_one_out: "points", "variogram", "neighbours" -> {"errors", "variances"}, by PyKrige without each point in turn.
inverse_distance: "points", "cells", "neighbours" -> values; without cells: errors of leave-one-out.
kernel: "cells" (the middles of square cells of "side"), "places", "bandwidth" -> values.
"""
import csv
import importlib.util
import json
import pathlib
import sys

import numpy as np


def meuse():
    # Found without importing the package, which takes seconds.
    path = pathlib.Path(importlib.util.find_spec("skgstat").origin).parent / "data" / "samples" / "meuse.txt"
    with open(path, newline="") as text:
        return [[float(row["x"]), float(row["y"]), float(row["zinc"])] for row in csv.DictReader(text)]


def krige(points, cells, variogram, neighbours):
    from pykrige.ok import OrdinaryKriging

    points, cells = np.array(points), np.array(cells)
    if variogram["shape"] == "nugget":
        model, parameters = "spherical", {"psill": 0.0, "range": 1.0}
    else:
        # PyKrige's exponential takes the range where it has risen by 95 %.
        times = {"spherical": 1, "exponential": 3}[variogram["shape"]]
        model = variogram["shape"]
        parameters = {"psill": variogram["partial_sill"], "range": times * variogram["range_m"]}
    parameters["nugget"] = variogram["nugget"]
    kriging = OrdinaryKriging(*points.T, variogram_model=model, variogram_parameters=parameters)
    near = {} if neighbours is None else {"backend": "loop", "n_closest_points": neighbours}
    values, variances = kriging.execute("points", cells[:, 0], cells[:, 1], **near)
    return {"values": np.asarray(values).tolist(), "variances": np.asarray(variances).tolist()}


def krige_each(points, cells, cases):
    return [krige(points, cells, variogram, neighbours) for variogram, neighbours in cases]


def leave_one_out(points, variogram, neighbours):
    errors, variances = [], []
    for index, (x, y, value) in enumerate(points):
        found = krige(points[:index] + points[index + 1 :], [[x, y]], variogram, neighbours)
        errors.append(value - found["values"][0])
        variances.append(found["variances"][0])
    return {"errors": errors, "variances": variances}


def inverse_distance(points, neighbours, cells=None):
    from scipy.spatial import cKDTree

    points = np.array(points)
    if cells is not None:
        away, nearest = cKDTree(points[:, :2]).query(np.array(cells), k=neighbours)
        weights = 1 / away**2
        return ((weights * points[nearest, 2]).sum(axis=1) / weights.sum(axis=1)).tolist()
    away, nearest = cKDTree(points[:, :2]).query(points[:, :2], k=neighbours + 1)
    weights = 1 / away[:, 1:] ** 2
    return (points[:, 2] - (weights * points[nearest[:, 1:], 2]).sum(axis=1) / weights.sum(axis=1)).tolist()


def kernel(cells, side, places, bandwidth):
    from scipy.spatial.distance import cdist

    away = cdist(np.array(cells), np.array(places))
    heights = np.where(away <= 4 * bandwidth, np.exp(-0.5 * (away / bandwidth) ** 2), 0)
    return (heights / (heights.sum(axis=0) * side**2)).sum(axis=1).tolist()


given = json.load(sys.stdin)
tasks = {
    "meuse": meuse,
    "krige_each": krige_each,
    "leave_one_out": leave_one_out,
    "inverse_distance": inverse_distance,
    "kernel": kernel,
}
json.dump(tasks[given.pop("task")](**given), sys.stdout)
