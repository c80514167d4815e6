"""Writes one layer of polygons in many formats and times reading them with pyogrio: {"folder", "count"} to {"versions",
"files": [[name, seconds]]}; best of three, from file to shapely geometries and columns."""

import json
import os
import sys
import time

import numpy
import pyogrio
import shapely

data = json.load(sys.stdin)
count, folder = data["count"], data["folder"]
random = numpy.random.default_rng(5)
turns = numpy.linspace(0, 2 * numpy.pi, 25)
side = int(numpy.ceil(numpy.sqrt(count)))
middles = numpy.array([(440_000 + 300 * (i % side), 5_800_000 + 300 * (i // side)) for i in range(count)], dtype=float)
radii = random.uniform(80, 140, (count, 25))
radii[:, -1] = radii[:, 0]
rings = numpy.stack([middles[:, :1] + radii * numpy.cos(turns), middles[:, 1:] + radii * numpy.sin(turns)], axis=-1)
metres = shapely.polygons(rings)
columns = [numpy.array([f"Field {i}" for i in range(count)], dtype=object), random.uniform(1, 30, count)]
rings = rings / [68_000, 111_200] + [2.5, 0.0]
degrees = shapely.polygons(rings)
files = []
for name, driver, shapes, crs in (
    ("fields.shp", "ESRI Shapefile", metres, "EPSG:25832"), ("fields.gpkg", "GPKG", metres, "EPSG:25832"),
    ("fields.fgb", "FlatGeobuf", metres, "EPSG:25832"), ("fields.geojson", "GeoJSON", degrees, "EPSG:4326"),
    ("fields.kml", "KML", degrees, "EPSG:4326"), ("fields.gml", "GML", metres, "EPSG:25832"),
):
    path = os.path.join(folder, name)
    pyogrio.raw.write(path, shapely.to_wkb(shapes), columns, ["name", "area"], driver=driver, crs=crs, geometry_type="Polygon")
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        _, _, blobs, _ = pyogrio.raw.read(path)
        shapely.from_wkb(blobs)
        best = min(best, time.perf_counter() - start)
    files.append([name, best])
print(json.dumps({"versions": f"pyogrio {pyogrio.__version__}, GDAL {pyogrio.__gdal_version_string__}", "files": files}))
