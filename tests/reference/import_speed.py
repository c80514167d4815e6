"""Writes one layer of polygons in many formats and times reading them with pyogrio: {"folder", "count", "points"} to {"versions",
"files": [[name, seconds]], "to_grid", "to_fields", "hits"}; best of three (or of "times"), from file to shapely geometries and columns. to_grid: the
positions of lonlat.bin to EPSG:27700 with pyproj, which has no grid; to_fields: positions of its own, left in spots.bin, to polygons
with shapely's STRtree, building the tree included."""

import json
import os
import sys
import time

import numpy
import pyogrio
import pyproj
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
    for _ in range(data.get("times", 3)):
        start = time.perf_counter()
        _, _, blobs, _ = pyogrio.raw.read(path)
        shapely.from_wkb(blobs)
        best = min(best, time.perf_counter() - start)
    files.append([name, best])


def best_of_three(work):
    least = float("inf")
    for _ in range(data.get("times", 3)):
        start = time.perf_counter()
        given = work()
        least = min(least, time.perf_counter() - start)
    return least, given


place = os.path.join(folder, "lonlat.bin")
lonlat = numpy.fromfile(place).reshape(-1, 2) if os.path.exists(place) else numpy.zeros((1, 2))
to_27700 = pyproj.Transformer.from_crs(4326, 27700, always_xy=True)
to_grid, _ = best_of_three(lambda: to_27700.transform(lonlat[:, 0].copy(), lonlat[:, 1].copy()))
low, high = shapely.total_bounds(metres)[:2], shapely.total_bounds(metres)[2:]
spots = random.uniform(low, high, (data["points"], 2))
spots.tofile(os.path.join(folder, "spots.bin"))
to_fields, hits = best_of_three(lambda: shapely.STRtree(metres).query(shapely.points(spots), predicate="intersects").shape[1])
versions = (f"pyogrio {pyogrio.__version__} (GDAL {pyogrio.__gdal_version_string__}), pyproj {pyproj.__version__} "
            f"(PROJ {pyproj.proj_version_str}), shapely {shapely.__version__} (GEOS {shapely.geos_version_string})")
print(json.dumps({"versions": versions, "files": files, "to_grid": to_grid, "to_fields": to_fields, "hits": int(hits)}))
