"""Files of one set of areas in many formats, written by GDAL: {"folder"} to the list of their names."""

import json
import os
import sys

import numpy
import pyogrio
import shapely
from pyproj import Transformer

folder = json.load(sys.stdin)["folder"]
square = shapely.box(0, 0, 300, 200)
shapes = [
    shapely.difference(square, shapely.box(100, 50, 140, 90)),
    shapely.MultiPolygon([shapely.box(400, 0, 500, 100), shapely.box(520, 0, 600, 100)]),
    shapely.Polygon([(700, 0), (900, 20), (880, 210), (710, 180)]),
]
names, numbers = ["Højager", "Nørremark & co", "Sønder <kær>"], [1.5, -2.0, 3.25]
made = []


def placed(code, east, north):
    to_lonlat = Transformer.from_crs(25832, code, always_xy=True)
    moved = shapely.transform(shapes, lambda xy: xy + [east, north])
    return shapely.transform(moved, lambda xy: list(zip(*to_lonlat.transform(xy[:, 0], xy[:, 1]))))


def write(file, driver, code=25832, geometry="Polygon", areas=None, **options):
    areas = placed(code, 560_000, 6_220_000) if areas is None else areas
    path = os.path.join(folder, file)
    data = [numpy.array(names, dtype=object), numpy.array(numbers)]
    pyogrio.raw.write(path, shapely.to_wkb(areas), data, ["name", "value"], driver=driver, crs=f"EPSG:{code}",
                      geometry_type=geometry, promote_to_multi=False, **options)
    made.append(file)


write("plain.kml", "KML", 4326, "Unknown")
write("lib.kml", "LIBKML", 4326, "Unknown")
write("packed.kmz", "LIBKML", 4326, "Unknown")
write("three.gml", "GML", 25832, "Unknown", FORMAT="GML3.2")
write("degrees.gml", "GML", 4326, "Unknown", FORMAT="GML3.2")
write("north_first.gml", "GML", 3035, "Unknown", FORMAT="GML3.2")
write("old_degrees.gml", "GML", 4326, "Unknown", FORMAT="GML2")
write("index.fgb", "FlatGeobuf", 25832, "Unknown")
write("bare.fgb", "FlatGeobuf", 4326, "Unknown", SPATIAL_INDEX="NO")
write("lines.geojsonl", "GeoJSONSeq", 4326, "Unknown")
write("separated.geojsons", "GeoJSONSeq", 4326, "Unknown", RS="YES")
write("rfc.geojson", "GeoJSON", 4326, "Unknown", RFC7946="YES")
write("with_z.shp", "ESRI Shapefile", 25832, "Polygon", areas=shapely.force_3d(placed(25832, 560_000, 6_220_000), 12.0))
write("latin.shp", "ESRI Shapefile", 25832, "Polygon", ENCODING="ISO-8859-1")
write("packed.shz", "ESRI Shapefile", 25832, "Polygon")
os.rename(os.path.join(folder, "packed.shz"), os.path.join(folder, "packed.zip"))
made[made.index("packed.shz")] = "packed.zip"
write("zone.gpkg", "GPKG", 4647, "Unknown")
points = shapely.centroid(placed(4326, 560_000, 6_220_000))
write("layers.gpkg", "GPKG", 4326, "Point", areas=points, layer="gates")
write("layers.gpkg", "GPKG", 25832, "Unknown", layer="fields", append=True)
made.remove("layers.gpkg")
print(json.dumps(made))
