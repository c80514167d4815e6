"""Reads a PDF as a stranger would: {"path", "dpi"} to, for each page, its size in mm, the texts of its QR codes with their middles in
mm from the top left corner (ZXing over the page as PDFium draws it), and its text."""

import json
import sys

import pypdfium2
import zxingcpp

asked = json.load(sys.stdin)
scale = asked["dpi"] / 72
pages = []
for page in pypdfium2.PdfDocument(asked["path"]):
    picture = page.render(scale=scale).to_numpy()
    codes = []
    for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode):
        p = code.position
        corners = [p.top_left, p.top_right, p.bottom_left, p.bottom_right]
        x, y = sum(c.x for c in corners) / 4, sum(c.y for c in corners) / 4
        codes.append({"text": code.text, "x": x / asked["dpi"] * 25.4, "y": y / asked["dpi"] * 25.4})
    pages.append({
        "size_mm": [side / 72 * 25.4 for side in page.get_size()],
        "codes": sorted(codes, key=lambda code: (round(code["y"]), code["x"])),
        "text": page.get_textpage().get_text_bounded(),
    })
print(json.dumps(pages))
