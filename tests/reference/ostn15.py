"""OSTN15 by PyPI osgb: {"lonlat": [[lon, lat]...], "grid": [[e, n]...]} to the same positions in the other system."""

import json
import sys

import osgb

data = json.load(sys.stdin)
print(json.dumps({
    "grid": [list(osgb.ll_to_grid(lat, lon)) for lon, lat in data["lonlat"]],
    "lonlat": [list(reversed(osgb.grid_to_ll(e, n))) for e, n in data["grid"]],
}))
