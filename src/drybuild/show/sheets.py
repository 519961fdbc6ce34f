"""Measuring sheets, the calibrator's sheet and the scrutineer's side as PDF."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from drybuild.build.declared import declaration
from drybuild.build.drawn import quantity_kind
from drybuild.examine.book import Imprint
from drybuild.examine.sheets import CalibratorSheet, Sheet, Side
from drybuild.examine.sheets.calibrator import MEASURED, Fitted, Known
from drybuild.examine.sheets.form import known_text, part_name, value_text
from drybuild.examine.sheets.wording import STARTER, blank, curve_blank, doc_of
from drybuild.show.book_words import amount, as_shown
from drybuild.show.cards_words import clock, day_text, fingerprint_text
from drybuild.show.measuring_drawings import drawing_of
from drybuild.show.sentences import room_text
from drybuild.show.text import state_words
from drybuild.show.typeset import plain_words, pngs, to_file
from drybuild.values import System, show

IN_LINES = ("injectors", "regulator", "air_meter", "pressure_sensor", "throttle")
"""What a map rests on first: a line for each figure."""
MEASURING, CALIBRATOR, SCRUTINEER = "sheets.typ", "calibrator.typ", "scrutineer.typ"

FOR_THE_CALIBRATOR = (
    "What is on the car, or will be when the plan is done, what is known of it and how, and the "
    "ceilings that owner and makers state. It gives no figure to aim at. What the parts and the "
    "record allow stands here; what is driven, the calibrator decides on the dyno."
)
COMES_BACK = (
    "This sheet comes back: the text file that goes with it, filled in, is taken into the folder "
    "with the map's checksum. Without the checksum nothing is taken in."
)
MAP = (
    "The folder holds the map against the hardware: injectors, sensors, flaps, fuel. A blank stays "
    "unknown."
)
NAMED = (
    {"title": "short name", "unit": "", "says": "that it gets in the folder: letters, figures, _"},
    {"title": "name", "unit": "", "says": "as its writer calls it"},
)
FLOW = "Injector flow means nothing without its pressure difference and its test fluid: write both."
FIRST = (
    "Of all that boost, torque and engine speed are asked of, as the folder works it out, this "
    "gives out first"
)
NOTHING_SAID = (
    "What stands here is from the car's record. It is a help to find things, and says nothing of "
    "their condition: the boxes are the scrutineer's."
)


def imprint_words(imprint: Imprint, state: str = "") -> dict[str, str]:
    """What the strip at the foot of every page says."""
    return {
        "build": imprint.build, "state": state or imprint.state, "revision": imprint.revision,
        "printed": f"{day_text(imprint.made)} {clock(imprint.made)}", "journal": imprint.journal,
        "fingerprint": fingerprint_text(imprint.fingerprint),
    }  # fmt: skip


def write_measuring(path: Path, sheets: tuple[Sheet, ...], imprint: Imprint) -> str:
    """Write the measuring sheets; returns what must be said of it, or nothing.

    Raises PaperExtraMissing, PaperRefused.
    """
    return to_file(path, MEASURING, measuring_content(sheets, imprint), made=imprint.made)


def write_calibrator(path: Path, sheet: CalibratorSheet, system: System = "metric") -> str:
    """Write the calibrator's sheet, as ``write_measuring`` does."""
    content = calibrator_content(sheet, system)
    return to_file(path, CALIBRATOR, content, made=sheet.imprint.made)


def write_scrutineer(path: Path, side: Side, system: System = "metric") -> str:
    """Write the scrutineer's side, as ``write_measuring`` does."""
    content = scrutineer_content(side, system)
    return to_file(path, SCRUTINEER, content, made=side.imprint.made)


def pages(template: str, content: dict[str, Any], imprint: Imprint, dots: float) -> list[bytes]:
    """Each page as a PNG, to be looked at."""
    return pngs(template, content, made=imprint.made, resolution=dots)


def measuring_content(sheets: tuple[Sheet, ...], imprint: Imprint) -> dict[str, Any]:
    """What the template sets."""
    found = {
        "title": f"{imprint.build}: measuring sheets", "imprint": imprint_words(imprint),
        "sheets": [
            {
                "title": sheet.title[:1].upper() + sheet.title[1:], "care": sheet.care,
                "note": sheet.note,
                "svg": drawing_of(sheet),
                "alt": f"{sheet.title}: what is measured, by letters",
                "rows": [
                    {
                        "letter": row.letter, "title": row.title, "how": row.how,
                        "tool": row.tool, "minutes": str(row.minutes), "now": row.now,
                    }
                    for row in sheet.rows
                ],
            }
            for sheet in sheets
        ],
    }  # fmt: skip
    return {key: plain_words(value) for key, value in found.items()}


def calibrator_content(sheet: CalibratorSheet, system: System) -> dict[str, Any]:
    """What the template sets."""
    state = f"hardware {state_words(sheet.state)}"
    fitted = {one.place for one in sheet.hardware if one.part is not None}
    stated = {k.address: k.value for one in sheet.hardware for k in one.known}
    found = {
        "title": f"{sheet.imprint.build}: for the calibrator",
        "imprint": imprint_words(sheet.imprint, state),
        "says": {"is": FOR_THE_CALIBRATOR, "back": COMES_BACK, "map": MAP, "measured": FLOW},
        "hardware": [
            {
                "title": one.title,
                "name": part_name(one.part) or one.part_id if one.part else "none",
                "serial": one.part.serial if one.part is not None else "",
                "known": [known_text(k) for k in _known_of(sheet, one)],
                "in-lines": one.place in IN_LINES,
            }
            for one in sheet.hardware
        ],
        "engine": [
            {"title": doc_of(one), "value": value_text(one.value), "how": whose(one)}
            for one in sheet.engine
        ],
        "first": first_text(sheet, system),
        "ceilings": [
            {"title": f"{_whose_limit(c.address)}: {doc_of(c)}",
             "value": value_text(c.value) or _worked(sheet, c.address, system),
             "how": "worked out" if c.address in sheet.worked else whose(c)}
            for c in sheet.ceilings
        ],
        "fuels": [
            *(f"{name}: {'; '.join(map(known_text, facts))}" for name, facts in sheet.fuels),
            *(known_text(one) for one in sheet.besides if one.value is not None),
        ],
        "map": [*NAMED, *(blank(k.address) for k in sheet.map_says)],
        "measured": [
            {**curve_blank(a, stated.get(a)), "fluid": a == "injectors.static_flow"}
            for a in MEASURED if a.partition(".")[0] in fitted
        ],
    }  # fmt: skip
    return {key: plain_words(value) for key, value in found.items()}


def _worked(sheet: CalibratorSheet, address: str, system: System) -> str:
    declared = declaration(address)
    if address not in sheet.worked or declared is None:
        return ""
    return show(quantity_kind(declared), *sheet.worked[address], system=system)


def first_text(sheet: CalibratorSheet, system: System) -> str:
    """What gives out first, as the screen of the engine says it."""
    if sheet.first is None:
        return ""
    room = room_text(sheet.first, system) or str(sheet.first.verdict)
    return f"{FIRST}: {sheet.first.title}, {sheet.first.verdict}, {room}."


def _whose_limit(address: str) -> str:
    """What a ceiling is of: ``goal``, ``engine``, ``turbo``."""
    return address.partition(".")[0].removesuffix("_limits").replace("_", " ")


def whose(one: Known) -> str:
    if one.how is None:
        return ""
    if not one.address.startswith("goal."):
        return one.how.words
    return STARTER if one.standard else "the owner's word"


def _known_of(sheet: CalibratorSheet, one: Fitted) -> tuple[Known, ...]:
    """Of the map that is in it only which one it is."""
    if one.place != "map":
        return one.known
    which = ("map.stage", "map.checksum")
    return tuple(k for k in sheet.map_says if k.address in which and k.value is not None)


def scrutineer_content(side: Side, system: System) -> dict[str, Any]:
    """What the template sets. Nothing of it says how anything was found."""
    shown = [f for f in side.identity if f.title in ("chassis number", "registration plate",
                                                     "colour")]  # fmt: skip
    weight = amount(side.weight, system) if side.weight is not None else ""
    found = {
        "title": f"{side.imprint.build}: for the scrutineer",
        "imprint": imprint_words(side.imprint), "club": side.head.club, "form": side.head.form,
        "number": side.head.number, "car-class": side.head.car_class,
        "entrant": side.head.entrant, "weight": weight,
        "weight-how": side.weight_how or "not stated",
        "identity": [{"title": f.title, "value": as_shown(f.value, system)} for f in shown],
        "items": [{"title": i.title, "look": i.look, "stated": i.stated} for i in side.items],
        "says": NOTHING_SAID,
    }  # fmt: skip
    return {key: plain_words(value) for key, value in found.items()}
