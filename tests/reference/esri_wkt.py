"""Well-known text of the ESRI kind of EPSG codes, by pyproj: {"codes"} to texts without a code in them."""

import json
import sys

from pyproj import CRS
from pyproj.enums import WktVersion

print(json.dumps([CRS.from_epsg(code).to_wkt(WktVersion.WKT1_ESRI) for code in json.load(sys.stdin)["codes"]]))
