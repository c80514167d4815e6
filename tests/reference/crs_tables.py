"""The tables of coordinate systems in assets/tables, from the database of pyproj: {"table": "names" | "grids"} to {"text"}.

Run by hand, it writes them: crs_tables.py FOLDER.
"""

import json
import os
import re
import sqlite3
import sys

import pyproj

base = sqlite3.connect(os.path.join(pyproj.datadir.get_data_dir(), "proj.db"))

NAMES = """
SELECT DISTINCT p.code, p.name, a.alt_name FROM projected_crs p
JOIN usage u ON u.object_table_name = 'projected_crs' AND u.object_code = p.code AND u.object_auth_name = p.auth_name
JOIN extent e ON e.auth_name = u.extent_auth_name AND e.code = u.extent_code
LEFT JOIN alias_name a ON a.table_name = 'projected_crs' AND a.auth_name = 'EPSG' AND a.code = p.code AND a.source = 'ESRI'
WHERE p.auth_name = 'EPSG' AND p.deprecated = 0
AND e.west_lon < 45 AND e.east_lon > -30 AND e.south_lat < 72 AND e.north_lat > 34
"""
GRIDS = """
SELECT g.grid_name, g.source_crs_code, g.target_crs_code, g.accuracy, g.name, a.old_proj_grid_name, a.inverse_direction
FROM grid_transformation g LEFT JOIN grid_alternatives a ON a.original_grid_name = g.grid_name
WHERE g.auth_name = 'EPSG' AND g.method_code = '9615' AND g.deprecated = 0
"""
# ETRS89, and its French and WGS 84 twins: a grid that leads to one of them needs no further shift beyond 1 m.
MODERN = (4258, 4171, 4326)


def plain(name):
    return re.sub(r"[^a-z0-9]", "", name.lower())


def names():
    """Plain name to code; of several systems of one name the lowest code."""
    found = {}
    for code, name, alias in base.execute(NAMES):
        for one in filter(None, (name, alias)):
            found[plain(one)] = min(found.get(plain(one), 10**9), int(code))
    return "name,epsg\n" + "".join(f"{name},{code}\n" for name, code in sorted(found.items()))


def grids():
    """File, geographic system it applies to, accuracy in m, name of the transformation; the most exact of a file's rows."""
    found = {}
    for file, source, target, accuracy, name, other, inverse in base.execute(GRIDS):
        source, target = int(source), int(target)
        if target in MODERN and source not in MODERN:
            rows = [(file, source)] + ([(other, source)] if other and not inverse else [])
        elif source in MODERN and target not in MODERN and inverse and other:
            rows = [(other, target)]
        else:
            continue
        for key in ((f.lower(), code) for f, code in rows):
            found[key] = min(found.get(key, (99.0, "")), (float(accuracy or 0.0) or 0.01, name))
    lines = (f"{file},{code},{accuracy},{name}\n" for (file, code), (accuracy, name) in sorted(found.items()))
    return "grid,epsg,accuracy_m,transformation\n" + "".join(lines)


if len(sys.argv) > 1:
    for table, text in (("crs_names", names()), ("ntv2_grids", grids())):
        with open(os.path.join(sys.argv[1], f"{table}.csv"), "w", encoding="utf-8") as file:
            file.write(text)
else:
    print(json.dumps({"text": {"names": names, "grids": grids}[json.load(sys.stdin)["table"]]()}))
