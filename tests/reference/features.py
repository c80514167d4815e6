"""A file as GDAL reads it, layer by layer: {"path"} to [{"name", "count", "shapes", "area", "length", "crs", "columns"}], or
{"error"}. Areas and lengths are of the plane of the file's own numbers."""

import json
import sys

import pyogrio
import shapely

data = json.load(sys.stdin)
path = data["path"]
if path.endswith(".zip"):
    path = f"/vsizip/{path}"
try:
    answer = []
    for name in pyogrio.list_layers(path)[:, 0]:
        meta, _, blobs, columns = pyogrio.raw.read(path, layer=name)
        shapes = [] if blobs is None else [s for s in shapely.from_wkb(blobs) if s is not None]
        answer.append({
            "name": name,
            "count": len(columns[0]) if columns else len(blobs),
            "shapes": len(shapes),
            "area": float(sum(s.area for s in shapes)),
            "length": float(sum(s.length for s in shapes if s.geom_type.endswith("LineString"))),
            "crs": meta["crs"],
            "columns": {n: [None if v is None else str(v) for v in c] for n, c in zip(meta["fields"], columns)},
        })
except Exception as error:  # GDAL's own refusal is the answer
    answer = {"error": str(error)}
print(json.dumps(answer))
