"""Holds an SVG drawing to the document type of SVG 1.1 (W3C Recommendation of 16 August 2011, second edition), with libxml2.

In: {"path": FILE}. Out: {"faults": [sentence], "elements": number}. Attributes data-* and aria-*, which came with SVG 2, are left out first. The type
is that of Debian's package w3c-sgml-lib.
"""
import json
import sys

from lxml import etree

TYPE = "/usr/share/xml/w3c-sgml-lib/schema/dtd/REC-SVG11-20110816/svg11.dtd"
tree = etree.parse(json.load(sys.stdin)["path"])
count = 0
for element in tree.iter(etree.Element):
    count += 1
    for name in list(element.attrib):
        if name.startswith(("data-", "aria-")):
            del element.attrib[name]
    # A document type knows no namespaces.
    assert element.tag.startswith("{http://www.w3.org/2000/svg}"), element.tag
    element.tag = etree.QName(element).localname
etree.cleanup_namespaces(tree)
kind = etree.DTD(TYPE)
kind.validate(tree)
faults = [f"line {entry.line}: {entry.message}" for entry in kind.error_log.filter_from_errors()]
json.dump({"faults": faults, "elements": count}, sys.stdout)
