"""Writes pictures for tests, and looks at the colours of drawings, with other people's programs.

In: {"write": FILE, "side": pixels, "quarters": [colour north-west, north-east, south-west, south-east]}: writes a PNG of four quarters.
Or {"path": FILE, "at": [[x, y] in mm from the top left corner]}. Out: {"colours": [[red, green, blue]]}, of a PNG (Pillow), of the first page
of a PDF (poppler, 300 to the inch), or of the picture inside an SVG (lxml and Pillow), where null stands for places outside of it.
"""
import base64
import io
import json
import subprocess
import sys

from lxml import etree
from PIL import Image

asked = json.load(sys.stdin)
if "write" in asked:
    side, half = asked["side"], asked["side"] // 2
    picture = Image.new("RGB", (side, side))
    for number, colour in enumerate(asked["quarters"]):
        left, top = half * (number % 2), half * (number // 2)
        picture.paste(tuple(colour), (left, top, left + half, top + half))
    picture.save(asked["write"])
    print("{}")
    sys.exit()
path, corner = asked["path"], (0.0, 0.0)
if path.endswith(".svg"):
    (image,) = etree.parse(path, etree.XMLParser(huge_tree=True)).iter("{http://www.w3.org/2000/svg}image")
    data = image.get("{http://www.w3.org/1999/xlink}href").split("base64,")[1]
    picture = Image.open(io.BytesIO(base64.b64decode(data)))
    corner = float(image.get("x")), float(image.get("y"))
    scale = picture.width / float(image.get("width")), picture.height / float(image.get("height"))
elif path.endswith(".pdf"):
    drawn = subprocess.run(["pdftoppm", "-r", "300", "-f", "1", "-l", "1", "-png", path], check=True, capture_output=True)
    picture, scale = Image.open(io.BytesIO(drawn.stdout)), (300 / 25.4, 300 / 25.4)
else:
    picture = Image.open(path)
    scale = tuple(dots / 25.4 for dots in picture.info["dpi"])
picture = picture.convert("RGB")
colours = []
for x, y in asked["at"]:
    place = int((x - corner[0]) * scale[0]), int((y - corner[1]) * scale[1])
    inside = 0 <= place[0] < picture.width and 0 <= place[1] < picture.height
    colours.append(picture.getpixel(place) if inside else None)
json.dump({"colours": colours}, sys.stdout)
