"""Looks at a PDF with other people's programs.

In: {"path": FILE}. Out: {"pages", "text": [text of each page, words in reading order with their lines], "part", "conformance" (what
it claims of ISO 19005 in its XMP data), "intent" (whether it has an output intent with a profile), "marked", "tagged" (structure
elements by kind), "lang", "title", "fonts" (name and whether its file is inside), "alternatives" (figures with a text in their
place, of all), "javascript", "encrypted", "sizes": [[width, height] in points]}.
Structure: pikepdf (qpdf). Text: pdftotext of poppler, which is another reader.
"""
import json
import subprocess
import sys
from collections import Counter

import pikepdf

path = json.load(sys.stdin)["path"]
found = subprocess.run(["pdftotext", "-layout", "-enc", "UTF-8", path, "-"], check=True, capture_output=True)
text = found.stdout.decode().split("\f")[:-1]
info = subprocess.run(["pdfinfo", path], check=True, capture_output=True).stdout.decode()
counted = int(next(line for line in info.splitlines() if line.startswith("Pages:")).split()[1])
with pikepdf.open(path) as pdf:
    with pdf.open_metadata() as meta:
        part, conformance = meta.get("pdfaid:part"), meta.get("pdfaid:conformance")
        title = meta.get("dc:title")
    root = pdf.Root
    intents = root.get("/OutputIntents", [])
    fonts, kinds, figures, described = {}, Counter(), 0, 0
    for thing in pdf.objects:
        if not isinstance(thing, pikepdf.Dictionary):
            continue
        if thing.get("/Type") == "/FontDescriptor":
            inside = any(key in thing for key in ("/FontFile", "/FontFile2", "/FontFile3"))
            fonts[str(thing.get("/FontName"))] = inside
        if thing.get("/Type") == "/StructElem" or ("/S" in thing and "/P" in thing and "/K" in thing):
            kind = str(thing.get("/S"))
            kinds[kind] += 1
            if kind == "/Figure":
                figures += 1
                described += "/Alt" in thing
    names = root.get("/Names", {})
    json.dump({
        "pages": [len(pdf.pages), counted], "text": text, "part": part, "conformance": conformance,
        "intent": any("/DestOutputProfile" in intent for intent in intents),
        "marked": bool(root.get("/MarkInfo", {}).get("/Marked", False)),
        "tagged": dict(kinds), "lang": str(root.get("/Lang", "")), "title": title,
        "fonts": sorted(fonts.items()), "alternatives": [described, figures],
        "javascript": "/JavaScript" in names or "/OpenAction" in root, "encrypted": pdf.is_encrypted,
        "sizes": [[float(page.mediabox[2]), float(page.mediabox[3])] for page in pdf.pages],
    }, sys.stdout)
