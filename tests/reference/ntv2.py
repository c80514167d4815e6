"""Writes an NTv2 grid of made-up smooth shifts and moves points through it with pyproj: {"file", "crs", "base", "points"} to
longitudes and latitudes on ETRS89, none outside the grid."""

import json
import math
import struct
import sys

from pyproj import Transformer

data = json.load(sys.stdin)
south, north, west, east, step = 47.0, 55.5, 5.0, 15.5, 0.25
rows, columns = round((north - south) / step) + 1, round((east - west) / step) + 1


def text(key, value):
    return key.ljust(8).encode() + value.ljust(8).encode()


def whole(key, value):
    return key.ljust(8).encode() + struct.pack("<i4x", value)


def real(key, value):
    return key.ljust(8).encode() + struct.pack("<d", value)


with open(data["file"], "wb") as file:
    for record in (
        whole("NUM_OREC", 11), whole("NUM_SREC", 11), whole("NUM_FILE", 1), text("GS_TYPE", "SECONDS"), text("VERSION", "TEST"),
        text("SYSTEM_F", "DHDN"), text("SYSTEM_T", "ETRS89"), real("MAJOR_F", 6377397.155), real("MINOR_F", 6356078.963),
        real("MAJOR_T", 6378137.0), real("MINOR_T", 6356752.314),
        text("SUB_NAME", "TEST"), text("PARENT", "NONE"), text("CREATED", ""), text("UPDATED", ""),
        real("S_LAT", south * 3600), real("N_LAT", north * 3600), real("E_LONG", -east * 3600), real("W_LONG", -west * 3600),
        real("LAT_INC", step * 3600), real("LONG_INC", step * 3600), whole("GS_COUNT", rows * columns),
    ):
        file.write(record)
    # From the south-east, westward, then northward; longitudes count to the west.
    for row in range(rows):
        for column in range(columns):
            latitude, longitude = south + row * step, east - column * step
            file.write(struct.pack("<4f", -3.5 + math.sin(latitude), 4.2 + math.cos(longitude), 0.01, 0.01))
    file.write(text("END", ""))

to_base = Transformer.from_crs(data["crs"], data["base"], always_xy=True)
shift = Transformer.from_pipeline(
    "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
    f"+step +proj=hgridshift +grids={data['file']} +step +proj=unitconvert +xy_in=rad +xy_out=deg"
)
answer = []
for x, y in data["points"]:
    found = shift.transform(*to_base.transform(x, y))
    answer.append(list(found) if all(map(math.isfinite, found)) else None)
print(json.dumps(answer))
