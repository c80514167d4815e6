"""Shapes split along lines, and unions, by shapely.

In: {"split": [{"shape": wkt, "line": wkt}], "union": [[wkt, ...]]}.
Out: {"split": [[area, ...] largest first], "union": [area, ...]}.
"""
import json
import sys

import shapely
from shapely.ops import split

given = json.load(sys.stdin)
cut = []
for case in given["split"]:
    parts = split(shapely.from_wkt(case["shape"]), shapely.from_wkt(case["line"]))
    cut.append(sorted((part.area for part in parts.geoms), reverse=True))
joined = [shapely.union_all([shapely.from_wkt(shape) for shape in shapes]).area for shapes in given["union"]]
json.dump({"split": cut, "union": joined}, sys.stdout)
