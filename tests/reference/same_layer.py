"""Two files of one layer side by side, as GDAL reads them: {"wanted", "found", "kml_schema"} to {"count", "apart", "columns"}: rows,
the largest distance of any corner of one shape from the other (degrees, Hausdorff), and the attributes that both have, as text.
With "kml_schema" the second is also held against the schema of KML 2.2 that fastkml carries: {"schema_errors"}."""

import json
import os
import sys

import pyogrio
import shapely

data = json.load(sys.stdin)


def layer(path):
    meta, _, blobs, columns = pyogrio.raw.read(path)
    return shapely.from_wkb(blobs), dict(zip([name.lower() for name in meta["fields"]], columns))


def text(value):
    try:
        return repr(round(float(value), 9))
    except (TypeError, ValueError):
        return "" if value is None else str(value)


(wanted, said), (found, read) = layer(data["wanted"]), layer(data["found"])
both = sorted(set(said) & set(read))
corners = [len(shapely.get_coordinates(a)) == len(shapely.get_coordinates(b)) for a, b in zip(wanted, found)]
answer = {
    "count": [len(wanted), len(found)],
    "apart": max((float(shapely.hausdorff_distance(a, b)) for a, b in zip(wanted, found)), default=0.0),
    "corners": all(corners),
    "columns": both,
    "differ": [[name, text(a), text(b)] for name in both for a, b in zip(said[name], read[name]) if text(a) != text(b)],
}
if data.get("kml_schema"):
    from importlib.util import find_spec

    from lxml import etree

    # Only its schema is wanted, not the package with all it needs.
    folder = os.path.join(os.path.dirname(find_spec("fastkml").origin), "schema")
    schema = etree.XMLSchema(etree.parse(os.path.join(folder, "ogckml22.xsd"), etree.XMLParser(no_network=True)))
    schema.validate(etree.parse(data["found"]))
    answer["schema_errors"] = [str(error) for error in schema.error_log]
print(json.dumps(answer))
