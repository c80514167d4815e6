"""Mitred insets of a five-cornered field with a hole, and parallel lines clipped to one, by shapely (GEOS). In: {}."""
import json
import math
import sys

from shapely import LineString, MultiLineString, Polygon

json.load(sys.stdin)
field = Polygon([(0, 0), (420, 30), (450, 300), (300, 420), (20, 380)], [[(200, 150), (240, 150), (240, 200), (200, 200)]])
inset = {distance: field.buffer(-distance, join_style="mitre", mitre_limit=10) for distance in (12, 24)}
turn = math.radians(10)
along, across = (math.sin(turn), math.cos(turn)), (math.cos(turn), -math.sin(turn))
lines = []
for k in range(-30, 31):
    x, y = 225 + 24 * k * across[0], 210 + 24 * k * across[1]
    lines.append(LineString([(x - 1000 * along[0], y - 1000 * along[1]), (x + 1000 * along[0], y + 1000 * along[1])]))
clipped = MultiLineString(lines).intersection(inset[24])
json.dump({"12": inset[12].area, "24": inset[24].area, "pieces": len(clipped.geoms), "length": clipped.length}, sys.stdout)
