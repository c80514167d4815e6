"""Reprojection by pyproj: {"cases": [{"crs": "EPSG:...", "points": [[x, y]...]}]} to longitudes and latitudes on WGS 84."""

import json
import sys

from pyproj import Transformer

answer = []
for case in json.load(sys.stdin)["cases"]:
    transformer = Transformer.from_crs(case["crs"], "EPSG:4326", always_xy=True)
    answer.append([list(transformer.transform(x, y)) for x, y in case["points"]])
print(json.dumps(answer))
