"""Holds a PDF to ISO 19005-1 with Preflight of Apache PDFBox 2.0 (Debian: libpdfbox2-java, with libcommons-logging-java, libactivation-java, libjaxb-api-java).

In: {"path": FILE}. Out: {"faults": [[code, sentence]]}. A file made to part 2 of the standard differs from part 1 in what part 2 newly
allows; which that is, the test says. Codes are Preflight's own: 1 syntax, 2 graphics, 3 fonts, 4 transparency, 5 annotations,
6 actions, 7 metadata, 8 outlines.
"""
import json
import re
import subprocess
import sys

JARS = ["preflight", "pdfbox2", "fontbox2", "xmpbox", "commons-logging", "javax.activation", "jaxb-api"]
path = json.load(sys.stdin)["path"]
places = ":".join(f"/usr/share/java/{name}.jar" for name in JARS)
command = ["java", "-cp", places, "org.apache.pdfbox.preflight.Validator_A1b", path]
done = subprocess.run(command, capture_output=True, text=True)
if "is a valid PDF/A-1b file" not in done.stdout and "is not a valid PDF/A-1b file" not in done.stdout:
    sys.exit(f"Preflight did not judge the file: {done.stdout[-500:]} {done.stderr[-1500:]}")
faults = re.findall(r"^\s*(-?[0-9]+(?:\.[0-9]+)*)\s*:\s*(.*)$", done.stdout, re.M)
json.dump({"faults": faults}, sys.stdout)
