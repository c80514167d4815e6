"""A calendar file read by the parser icalendar.

In: {"path": file}. Out: {"errors": [...], "events": [{"uid", "summary", "location", "description", "start", "end", "geo"}], "floating":
whether no time names a zone, "longest": octets of the longest line}.
"""
import json
import sys

from icalendar import Calendar

with open(json.load(sys.stdin)["path"], "rb") as file:
    raw = file.read()
calendar = Calendar.from_ical(raw)
errors = [str(error) for error in calendar.errors]
if calendar.get("VERSION") != "2.0" or not calendar.get("PRODID"):
    errors.append("VERSION or PRODID is missing")
if b"\n" in raw.replace(b"\r\n", b""):
    errors.append("a line does not end in CR LF")
events = []
for event in calendar.walk("VEVENT"):
    errors += [str(error) for error in event.errors]
    if "DTSTAMP" not in event:
        errors.append("DTSTAMP is missing")
    events.append({
        "uid": str(event["UID"]),
        "summary": str(event["SUMMARY"]),
        "location": str(event["LOCATION"]),
        "description": str(event["DESCRIPTION"]),
        "start": event.decoded("DTSTART").isoformat(),
        "end": event.decoded("DTEND").isoformat(),
        "geo": [float(event["GEO"].latitude), float(event["GEO"].longitude)],
        "floating": event.decoded("DTSTART").tzinfo is None,
    })
json.dump({
    "errors": errors,
    "events": events,
    "floating": all(event["floating"] for event in events),
    "longest": max(len(line) for line in raw.split(b"\r\n")),
}, sys.stdout)
