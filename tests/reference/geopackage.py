"""Looks at a GeoPackage with other people's programs.

In: {"path": FILE}. Out: {"errors": [[requirement, text], ...], "layers": {NAME: {"count", "kind", "crs", "columns",
"area_m2" (WGS 84 ellipsoid)}}}.
Validator: of the GDAL project, from PyPI gdal-utils. Reader: pyogrio. Areas: pyproj.Geod.
"""
import json
import sys

import pyogrio
import shapely
from osgeo_utils.samples import validate_gpkg
from pyproj import Geod

path = json.load(sys.stdin)["path"]
errors = validate_gpkg.check(path, abort_at_first_error=False)
geod = Geod(ellps="WGS84")
layers = {}
for name, kind in pyogrio.list_layers(path):
    meta, _, geometry, values = pyogrio.raw.read(path, layer=name)
    columns = {str(field): [str(value) for value in column] for field, column in zip(meta["fields"], values)}
    areas = []
    if kind is not None and "Polygon" in kind:
        for wkb in geometry:
            shape = shapely.orient_polygons(shapely.from_wkb(wkb))
            areas.append(abs(geod.geometry_area_perimeter(shape)[0]))
    count = len(next(iter(columns.values())))
    layers[name] = {"count": count, "kind": kind, "crs": meta.get("crs"), "columns": columns, "area_m2": areas}
json.dump({"errors": errors, "layers": layers}, sys.stdout)
