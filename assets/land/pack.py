"""Packs land and borders for the inset of maps.

In: world-atlas 2.0.2 (land-50m.json, countries-50m.json in a folder), which holds Natural Earth 1:50m, public domain, as TopoJSON.
Out: outlines.bin: for each line its kind (0 ring of land, 1 border), its number of places, then differences of longitude and
latitude in hundredths of a degree, all as base-128 integers, those of differences zigzag. Lines keep to 0.02 degrees; Antarctica is
left out. Call: pack.py FOLDER outlines.bin
"""
import json
import sys
from collections import Counter

def arcs(topology):
    (sx, sy), (tx, ty) = topology["transform"]["scale"], topology["transform"]["translate"]
    out = []
    for arc in topology["arcs"]:
        x = y = 0
        line = []
        for dx, dy in arc:
            x, y = x + dx, y + dy
            line.append((x * sx + tx, y * sy + ty))
        out.append(line)
    return out

def simplified(line, limit):
    """Douglas and Peucker 1973, without recursion."""
    keep = [False] * len(line)
    keep[0] = keep[-1] = True
    open_ = [(0, len(line) - 1)]
    while open_:
        a, b = open_.pop()
        (ax, ay), (bx, by) = line[a], line[b]
        far, at = 0, None
        for i in range(a + 1, b):
            px, py = line[i]
            dx, dy = bx - ax, by - ay
            length = dx * dx + dy * dy
            t = max(0, min(1, ((px - ax) * dx + (py - ay) * dy) / length)) if length else 0
            d = ((px - ax - t * dx) ** 2 + (py - ay - t * dy) ** 2) ** 0.5
            if d > far:
                far, at = d, i
        if far > limit:
            keep[at] = True
            open_ += [(a, at), (at, b)]
    return [p for p, k in zip(line, keep) if k]

def rings(topology, geometry, lines):
    polygons = [geometry["arcs"]] if geometry["type"] == "Polygon" else geometry["arcs"]
    for polygon in polygons:
        for ring in polygon:
            out = []
            for index in ring:
                line = lines[index] if index >= 0 else lines[~index][::-1]
                out += line[1:] if out else line
            yield out

def whole(line):
    out = []
    for x, y in line:
        p = (round(x * 100), round(y * 100))
        if not out or out[-1] != p:
            out.append(p)
    return out

def number(value, out):
    while value > 127:
        out.append(value & 127 | 128)
        value >>= 7
    out.append(value)

def pack(kind, line, out):
    number(kind, out)
    number(len(line), out)
    x = y = 0
    for px, py in line:
        for d in (px - x, py - y):
            number(d << 1 if d >= 0 else (-d << 1) - 1, out)
        x, y = px, py

folder = sys.argv[1]
out, kinds, places = bytearray(), Counter(), 0
land = json.load(open(f"{folder}/land-50m.json"))
lines = [simplified(l, 0.02) for l in arcs(land)]
for geometry in land["objects"]["land"]["geometries"]:
    for ring in rings(land, geometry, lines):
        ring = whole(ring)
        if len(ring) >= 4 and max(y for _, y in ring) > -6000:
            pack(0, ring, out)
            kinds["rings"] += 1
            places += len(ring)
countries = json.load(open(f"{folder}/countries-50m.json"))
used = Counter()
for geometry in countries["objects"]["countries"]["geometries"]:
    if geometry["type"] is None:
        continue
    polygons = [geometry["arcs"]] if geometry["type"] == "Polygon" else geometry["arcs"]
    used.update({index if index >= 0 else ~index for polygon in polygons for ring in polygon for index in ring})
for index, line in enumerate(arcs(countries)):
    if used[index] > 1:
        line = whole(simplified(line, 0.02))
        if len(line) > 1:
            pack(1, line, out)
            kinds["borders"] += 1
            places += len(line)
with open(sys.argv[2], "wb") as file:
    file.write(out)
print(dict(kinds), places, "places", len(out), "bytes")
