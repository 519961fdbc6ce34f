"""The calendar against RFC 5545 (Desruisseaux, Internet Calendaring and Scheduling, 2009)."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import making_todo as making
import pytest

from drybuild.show.calendar import ics

ROOT = Path(__file__).parents[2]

ICS = "drybuild.show.calendar.ics"


@pytest.fixture(scope="module")
def found():
    """The plan by hand, with words in it that need escaping and letters of several octets."""
    made = making.made_sheets()
    imprint = replace(made.imprint, build="Kite; 1,8 \\ T: ÄÖÜ ⅜ " + "äöü" * 30)
    return replace(made, imprint=imprint)


@pytest.fixture(scope="module")
def text(found):
    return ics(found)


def unfolded(text):
    """3.1: a CRLF and one white space that follows it are taken out."""
    return re.sub(r"\r\n[ \t]", "", text)


def events(text):
    """Each VEVENT as its lines: (name with parameters, value)."""
    blocks = re.findall(r"BEGIN:VEVENT\r\n(.*?)END:VEVENT\r\n", unfolded(text), re.S)
    return [[tuple(line.split(":", 1)) for line in b.split("\r\n") if line] for b in blocks]


def values(event, name):
    return [value for key, value in event if key.split(";")[0] == name]


@pytest.mark.authority
def test_lines_end_in_crlf_and_are_folded_at_75_octets(text, against):
    """3.1: lines of text SHOULD NOT be longer than 75 octets, excluding the line break."""
    lines = text.encode("utf-8").split(b"\r\n")
    bare = [line for line in lines if b"\n" in line or b"\r" in line]
    long = [line for line in lines if len(line) > 75]
    whole = all(line.decode("utf-8", errors="replace").isprintable() or not line for line in lines)
    against(
        ICS, got=(str(len(bare)), str(len(long)), str(whole), lines[-1].decode()),
        expected=("0", "0", "True", ""), source="RFC 5545, 3.1 (from memory)",
    )  # fmt: skip
    assert max(map(len, lines)) > 60  # something was folded at all


@pytest.mark.authority
def test_text_is_escaped(text, against):
    """3.3.11: \\\\ \\; \\, and \\n stand for backslash, semicolon, comma and line break; a colon
    is not escaped."""
    name = re.search(r"\r\nNAME:(.*)\r\n", unfolded(text))
    assert name is not None
    words = next(v for e in events(text) for v in values(e, "DESCRIPTION") if "At the end" in v)
    raw = re.findall(r"(?<!\\)(?:\\\\)*[;,]|\\[^\\;,nN]", words)
    against(
        ICS, got=(name[1][:23], str(r"\n\nAt the end\n" in words), "".join(raw)),
        expected=(r"Kite\; 1\,8 \\ T: ÄÖÜ ⅜"[:23], "True", ""),
        source="RFC 5545, 3.3.11 (from memory)",
    )  # fmt: skip


@pytest.mark.authority
def test_times_are_of_the_forms_that_the_standard_has(text, against):
    """3.3.5: form 1 is local time without Z or TZID, form 2 UTC with Z; 3.3.4: a DATE has VALUE."""
    shapes = set()
    for event in events(text):
        for key, value in event:
            if key.split(";")[0] in ("DTSTART", "DTEND", "DTSTAMP"):
                shapes.add(key + ":" + re.sub(r"\d", "9", value))
    against(
        ICS, got=tuple(sorted(shapes)),
        expected=(
            "DTEND:99999999T999999", "DTEND;VALUE=DATE:99999999", "DTSTAMP:99999999T999999Z",
            "DTSTART:99999999T999999", "DTSTART;VALUE=DATE:99999999",
        ),
        source="RFC 5545, 3.3.4, 3.3.5 and 3.8.7.2 (from memory)",
    )  # fmt: skip


@pytest.mark.authority
def test_what_must_be_there_once_is_there_once(text, against):
    """3.6: PRODID and VERSION once, of a calendar; 3.6.1: UID and DTSTAMP once, of an event, and
    DTSTART where there is no METHOD."""
    head = unfolded(text).split("BEGIN:VEVENT")[0]
    counted = {
        str([len(values(e, name)) for name in ("UID", "DTSTAMP", "DTSTART", "SUMMARY", "SEQUENCE")])
        for e in events(text)
    }
    against(
        ICS, got=(
            str(head.count("\r\nPRODID:")), str(head.count("\r\nVERSION:2.0\r\n")),
            head.split("\r\n")[0], *sorted(counted),
        ),
        expected=("1", "1", "BEGIN:VCALENDAR", "[1, 1, 1, 1, 1]"),
        source="RFC 5545, 3.4, 3.6 and 3.6.1 (from memory)",
    )  # fmt: skip


@pytest.mark.authority
def test_an_event_ends_later_than_it_starts(text, against):
    """3.8.2.2: DTEND MUST be later than DTSTART; 3.6.1: without it a moment has no length."""
    wrong = [
        e for e in events(text)
        if values(e, "DTEND") and values(e, "DTEND")[0] <= values(e, "DTSTART")[0]
    ]  # fmt: skip
    moments = [e for e in events(text) if not values(e, "DTEND")]
    against(
        ICS, got=(str(len(wrong)), str(all("wanted" in values(e, "CATEGORIES") for e in moments))),
        expected=("0", "True"), source="RFC 5545, 3.6.1 and 3.8.2.2 (from memory)",
    )  # fmt: skip
    assert moments


@pytest.mark.authority
def test_each_event_has_a_name_of_its_own(found, text, against):
    """3.8.4.7: a UID is unique; the same event has the same one whenever it is written."""
    once = [values(e, "UID")[0] for e in events(text)]
    again = [
        values(e, "UID")[0] for e in events(ics(replace(found, imprint=replace(
            found.imprint, made=datetime(2027, 1, 1)))))
    ]  # fmt: skip
    against(
        ICS, got=(str(len(set(once)) == len(once)), str(once == again)),
        expected=("True", "True"), source="RFC 5545, 3.8.4.7 (from memory)",
    )  # fmt: skip
