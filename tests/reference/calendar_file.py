"""A calendar file read by the parser icalendar of PyPI, and its bytes held to RFC 5545.

In: {"path": file}. Out: {"errors": [...], "events": [{"uid", "sequence", "summary", "location", "description", "start", "end", "geo"}],
"floating": whether no time names a zone, "longest": octets of the longest line}.

Rules of RFC 5545 looked at, by section: 3.1 lines end in CR LF, have 75 octets at most and are folded without splitting a character;
3.3.5 DTSTAMP and LAST-MODIFIED are in UTC; 3.3.11 in text a comma, semicolon and backslash stand behind a backslash, and no bare
control character; 3.6 VERSION and PRODID once, CALSCALE at most once; 3.6.1 in an event UID and DTSTAMP once, DTSTART once, DTEND
later than DTSTART; 3.8.1.6 GEO as two numbers; 3.8.4.7 UIDs are unique; 3.8.7.4 SEQUENCE a whole number from 0.
"""
import json
import re
import sys
from collections import Counter

from icalendar import Calendar

TEXTS = {"SUMMARY", "LOCATION", "DESCRIPTION", "UID", "PRODID"}

with open(json.load(sys.stdin)["path"], "rb") as file:
    raw = file.read()


def by_the_rules():
    """What the bytes break, without the help of a parser."""
    if b"\n" in raw.replace(b"\r\n", b"") or b"\r" in raw.replace(b"\r\n", b""):
        yield "a line does not end in CR LF"
    if not raw.endswith(b"\r\n"):
        yield "the last line does not end"
    lines = raw.split(b"\r\n")[:-1]
    for line in lines:
        try:
            line.decode("utf-8")
        except UnicodeDecodeError:
            yield f"a fold splits a character: {line!r}"
        if len(line) > 75:
            yield f"a line of {len(line)} octets"
    unfolded = re.sub(rb"\r\n[ \t]", b"", raw).decode("utf-8").split("\r\n")[:-1]
    if unfolded[0] != "BEGIN:VCALENDAR" or unfolded[-1] != "END:VCALENDAR":
        yield "it is no calendar"
    stack, counts, uids = [], [], []
    for line in unfolded:
        match = re.fullmatch(r"([A-Z0-9-]+)((?:;[^:\"]*(?:\"[^\"]*\")?)*):(.*)", line, re.DOTALL)
        if match is None:
            yield f"no content line: {line!r}"
            continue
        name, _, value = match.groups()
        if re.search(r"[\x00-\x08\x0a-\x1f\x7f]", value):
            yield f"a control character in {line!r}"
        if name == "BEGIN":
            stack.append(value)
            counts.append(Counter())
            continue
        if name == "END":
            own = counts.pop()
            if stack.pop() != value:
                yield "components are not nested"
            once = {"VCALENDAR": ["VERSION", "PRODID"], "VEVENT": ["UID", "DTSTAMP", "DTSTART", "DTEND"]}[value]
            yield from (f"{value} has {own[name]} {name}" for name in once if own[name] != 1)
            yield from (f"{value} has {own[name]} {name}" for name in ["CALSCALE", "GEO", "SUMMARY", "LOCATION",
                                                                       "DESCRIPTION", "SEQUENCE"] if own[name] > 1)
            continue
        counts[-1][name] += 1
        if name in TEXTS and re.search(r"(?<!\\)(?:\\\\)*[,;]|(?<!\\)(?:\\\\)*\\(?![\\,;nN])", value):
            yield f"text is not escaped: {line!r}"
        if name in {"DTSTAMP", "LAST-MODIFIED"} and not re.fullmatch(r"\d{8}T\d{6}Z", value):
            yield f"not in UTC: {line!r}"
        if name == "GEO" and not re.fullmatch(r"-?\d+(\.\d+)?;-?\d+(\.\d+)?", value):
            yield f"no place: {line!r}"
        if name == "SEQUENCE" and not value.isdigit():
            yield f"no number: {line!r}"
        if name == "UID":
            uids.append(value)
    yield from (f"the UID {uid} stands {times} times" for uid, times in Counter(uids).items() if times > 1)


errors = list(by_the_rules())
calendar = Calendar.from_ical(raw)
errors += [str(error) for error in calendar.errors]
if calendar.get("VERSION") != "2.0":
    errors.append("VERSION is not 2.0")
events = []
for event in calendar.walk("VEVENT"):
    errors += [str(error) for error in event.errors]
    if event.decoded("DTEND") <= event.decoded("DTSTART"):
        errors.append(f"{event['UID']} ends before it begins")
    events.append({
        "uid": str(event["UID"]),
        "sequence": int(event.get("SEQUENCE", 0)),
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
