"""A GPX file of a day read by gpxpy.

In: {"path": file}. Out: {"waypoints": [names], "route": [[lon, lat], ...], "tracks": how many}.
"""
import json
import sys

import gpxpy

with open(json.load(sys.stdin)["path"], encoding="utf-8") as file:
    day = gpxpy.parse(file)
json.dump({
    "waypoints": [point.name for point in day.waypoints],
    "route": [[point.longitude, point.latitude] for route in day.routes for point in route.points],
    "tracks": len(day.tracks),
}, sys.stdout)
