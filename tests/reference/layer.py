"""A file of shapes by pyogrio and pyproj: {"path", "column"} to count, geodesic areas in ha on WGS 84, and a column."""

import json
import sys

import pyogrio
import shapely
from pyproj import Geod, Transformer

data = json.load(sys.stdin)
meta, _, blobs, columns = pyogrio.raw.read(data["path"])
values = dict(zip(meta["fields"], columns)).get(data.get("column"))
transformer = Transformer.from_crs(meta["crs"] or "EPSG:4326", "EPSG:4326", always_xy=True)
geod = Geod(ellps="WGS84")


def move(shape):
    return shapely.transform(shape, lambda xy: list(zip(*transformer.transform(xy[:, 0], xy[:, 1]))))


shapes = [move(shapely.force_2d(shape)) for shape in shapely.from_wkb(blobs)]
print(json.dumps({
    "count": len(shapes),
    "crs": meta["crs"],
    "types": sorted({shape.geom_type for shape in shapes}),
    "valid": [bool(shape.is_valid) for shape in shapes],
    "area_ha": [abs(geod.geometry_area_perimeter(shapely.orient_polygons(shape))[0]) / 1e4 for shape in shapes],
    "values": None if values is None else [None if value is None else str(value) for value in values],
}))
