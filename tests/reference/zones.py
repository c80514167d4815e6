"""Zones of a sprayer's file as other readers see them: {"file"} to {"count", "valid", "rate_l_ha", "area_m2"}.

Shapefile and GeoJSON by GDAL (pyogrio), task data by the standard library's XML reader. Areas on the ellipsoid by pyproj."""

import json
import sys
import xml.etree.ElementTree as tree

import pyogrio
import pyproj
import shapely

path = json.load(sys.stdin)["file"]
GEOD = pyproj.Geod(ellps="WGS84")

if path.endswith(".xml"):
    root = tree.parse(path).getroot()
    assert root.tag == "ISO11783_TaskData", root.tag
    task = root.find("TSK")
    fields = {field.get("A") for field in root.findall("PFD")}
    assert task.get("E") in fields, "the task names a field of the file"
    zones = {zone.get("A"): zone for zone in task.findall("TZN")}
    for default in "HIJ":
        assert task.get(default) in zones, default
    outside = zones.pop(task.get("H"))
    assert [data.get("B") for data in outside.findall("PDV")] == ["0"]

    def ring(line):
        return [(float(p.get("D")), float(p.get("C"))) for p in line.findall("PNT")]

    shapes, rates = [], []
    for zone in zones.values():
        parts = []
        for polygon in zone.findall("PLN"):
            assert polygon.get("A") == "2"
            lines = polygon.findall("LSG")
            outer = [ring(line) for line in lines if line.get("A") == "1"]
            parts.append(shapely.Polygon(outer[0], [ring(line) for line in lines if line.get("A") == "2"]))
        shapes.append(shapely.MultiPolygon(parts))
        (data,) = zone.findall("PDV")
        assert data.get("A") == "0001"
        rates.append(int(data.get("B")) / 100.0)
else:
    meta, _, blobs, columns = pyogrio.raw.read(path)
    shapes = shapely.from_wkb(blobs)
    rates = [float(x) for x in dict(zip(meta["fields"], columns))["rate_l_ha"]]

areas = [round(abs(GEOD.geometry_area_perimeter(shape)[0]), 3) for shape in shapes]
print(json.dumps({
    "count": len(shapes),
    "valid": bool(all(shapely.is_valid(shape) for shape in shapes)),
    "rate_l_ha": rates,
    "area_m2": areas,
}))
