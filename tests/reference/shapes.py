"""Shapes by shapely and pyproj: {"geojson": [...]} to geodesic area in m2 and the odd-even repaired area."""

import json
import math
import sys

import shapely
from pyproj import Geod

geod = Geod(ellps="WGS84")
answer = []
for text in json.load(sys.stdin)["geojson"]:
    shape = shapely.from_geojson(json.dumps(text))
    made = shapely.make_valid(shape)
    whole = shapely.orient_polygons(shapely.union_all([p for p in shapely.get_parts(made) if "Polygon" in p.geom_type]))
    area = abs(geod.geometry_area_perimeter(whole)[0])
    answer.append({
        "geodesic_m2": area if math.isfinite(area) else None,
        "plane": whole.area,
        "mitre_inset": [shapely.buffer(shape, -d, join_style="mitre", mitre_limit=50).area for d in (12, 24)],
    })
print(json.dumps(answer))
