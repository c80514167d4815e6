"""A track in a field by shapely and pyproj: {"field": geojson, "track": geojson, "stops": [[lon, lat]], "near_m"} to the length inside
in m, the ground within near_m of the track inside the field in m2, the distance of each stop to the track in m, and the share of a
5 m lattice inside the field within near_m. Measured in a transverse Mercator on the field's centroid."""

import json
import sys

import numpy
import shapely
from pyproj import Transformer

asked = json.load(sys.stdin)
field = shapely.from_geojson(json.dumps(asked["field"]))
track = shapely.from_geojson(json.dumps(asked["track"]))
middle = field.centroid
plane = f"+proj=tmerc +lat_0={middle.y} +lon_0={middle.x} +k=1 +ellps=WGS84 +units=m"
to_m = Transformer.from_crs("EPSG:4326", plane, always_xy=True).transform
field, track = (shapely.transform(shape, to_m, interleaved=False) for shape in (field, track))
near = shapely.buffer(track, asked["near_m"], quad_segs=64)
stops = [shapely.Point(to_m(*stop)) for stop in asked["stops"]]
west, south, east, north = field.bounds
xs, ys = numpy.meshgrid(numpy.arange(west + 2.5, east, 5), numpy.arange(south + 2.5, north, 5))
inside = shapely.contains_xy(field, xs, ys)
seen = shapely.distance(shapely.points(xs[inside], ys[inside]), track) <= asked["near_m"]
print(json.dumps({
    "length_m": field.intersection(track).length,
    "area_m2": near.intersection(field).area,
    "away_m": [stop.distance(track) for stop in stops],
    "share": float(seen.mean()),
}))
