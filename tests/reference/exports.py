"""Exports read back: GPX by gpxpy, GeoJSON by pyogrio. {"gpx": text, "geojson": path} to what is in them."""

import json
import sys

import gpxpy
import pyogrio
import shapely

data = json.load(sys.stdin)
answer = {}
if data.get("gpx"):
    gpx = gpxpy.parse(data["gpx"])
    answer["version"] = gpx.version
    answer["waypoints"] = [[w.name, w.longitude, w.latitude] for w in gpx.waypoints]
    answer["routes"] = [[r.name, [[p.name, p.longitude, p.latitude] for p in r.points]] for r in gpx.routes]
    answer["tracks"] = [[t.name, [[p.longitude, p.latitude] for s in t.segments for p in s.points]] for t in gpx.tracks]
if data.get("geojson"):
    meta, _, blobs, columns = pyogrio.raw.read(data["geojson"])
    shapes = shapely.from_wkb(blobs)
    answer["crs"] = meta["crs"]
    answer["columns"] = {name: [str(value) for value in column] for name, column in zip(meta["fields"], columns)}
    answer["types"] = [shape.geom_type for shape in shapes]
    answer["valid"] = [bool(shape.is_valid) for shape in shapes]
    answer["first"] = [list(shapely.get_coordinates(shape)[0]) for shape in shapes]
print(json.dumps(answer))
