"""Rasters by rasterio (GDAL) and areas by shapely. One of:

{"write": [{"path", "options"...}]}  writes files and says what rasterio reads of them: values (null for no data), transform
{"read": [path...]}                  the same of files that are there
{"average": {...}}                   rasterio.warp.reproject with Resampling.average from one grid to another
{"cover": {"values", "quads"}}       mean and share of quads in pixel coordinates, by intersecting polygons
"""

import json
import sys
import warnings

import numpy as np
import rasterio
import rasterio.shutil
import shapely
from rasterio.control import GroundControlPoint
from rasterio.transform import Affine, from_gcps
from rasterio.warp import Resampling, reproject

warnings.filterwarnings("ignore")


def pattern(case):
    """Numbers that differ from pixel to pixel, with no data at some, in as many bands as asked for."""
    rows, columns, bands = case["rows"], case["columns"], case.get("bands", 1)
    numbers = (np.arange(bands * rows * columns) * 37 + 11) % case.get("modulus", 101)
    numbers = numbers.astype("float64").reshape(bands, rows, columns)
    if case["dtype"].startswith("float"):
        numbers = numbers / 7
    if case["dtype"].startswith("int"):
        numbers -= 20
    if case.get("nodata") is not None:
        numbers[0, ::3, ::5] = float(case["nodata"])
    return numbers.astype(case["dtype"])


def write(case):
    path = case["path"]
    grid = path.endswith(".asc")
    profile = {"driver": "GTiff", "width": case["columns"], "height": case["rows"], "count": case.get("bands", 1),
               "dtype": case["dtype"], "crs": case.get("crs"), "nodata": case.get("nodata") and float(case["nodata"])}
    if "transform" in case:
        profile["transform"] = Affine(*case["transform"])
    profile.update(case.get("options", {}))
    with rasterio.open(path + ".tif" if grid else path, "w", **profile) as file:
        if case.get("point"):
            file.update_tags(AREA_OR_POINT="Point")
        if "scale" in case:
            file.scales, file.offsets = [case["scale"]], [case["offset"]]
        if "gcps" in case:
            file.gcps = [GroundControlPoint(row=r, col=c, x=x, y=y) for c, r, x, y in case["gcps"]], file.crs
        data = pattern(case)
        if case.get("only_corner"):
            file.write(data[:, :16, :16], window=((0, 16), (0, 16)))
        else:
            file.write(data)
        if case.get("mask"):
            file.write_mask(np.ones((case["rows"], case["columns"]), dtype="uint8") * 255)
    if grid:
        rasterio.shutil.copy(path + ".tif", path, driver="AAIGrid")
    return read(path)


def read(path):
    with rasterio.open(path) as file:
        values = file.read(1).astype("float64") * file.scales[0] + file.offsets[0]
        values[file.read_masks(1) == 0] = np.nan
        points, _ = file.gcps
        transform = from_gcps(points) if points else file.transform
        return {"columns": file.width, "rows": file.height, "transform": list(transform)[:6],
                "values": [None if np.isnan(value) else value for value in values.ravel().tolist()]}


def average(case):
    values = np.array(case["values"], dtype="float64").reshape(case["shape"])
    result = np.full(case["to_shape"], np.nan)
    reproject(values, result, src_transform=Affine(*case["transform"]), dst_transform=Affine(*case["to_transform"]),
              src_crs="EPSG:32631", dst_crs="EPSG:32631", src_nodata=np.nan, dst_nodata=np.nan, resampling=Resampling.average)
    return [None if np.isnan(value) else value for value in result.ravel().tolist()]


def cover(case):
    values = np.array([[np.nan if value is None else value for value in row] for row in case["values"]], dtype="float64")
    rows, columns = values.shape
    pixels = np.array([[shapely.box(c, r, c + 1, r + 1) for c in range(columns)] for r in range(rows)])
    answer = []
    for corners in case["quads"]:
        quad = shapely.Polygon(corners)
        areas = np.where(np.isnan(values), 0, shapely.area(shapely.intersection(pixels, quad)))
        total = areas.sum()
        answer.append([float((areas * np.nan_to_num(values)).sum() / total), float(total / quad.area)] if total > 0 else None)
    return answer


task = json.load(sys.stdin)
if "write" in task:
    with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=True):
        answer = [write(case) for case in task["write"]]
elif "read" in task:
    answer = [read(path) for path in task["read"]]
elif "average" in task:
    answer = average(task["average"])
else:
    answer = cover(task["cover"])
print(json.dumps(answer))
