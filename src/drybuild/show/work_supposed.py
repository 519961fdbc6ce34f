"""What a plan supposes, in words: loud enough that nobody takes a supposition for a finding."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from drybuild.examine.naming import plain_name
from drybuild.findings import SIDES
from drybuild.show.cards_words import clock, short_day
from drybuild.show.sentences import joint_text, places
from drybuild.work.model import Plan, Supposed, ToMeasure

NOT_COVERED = "no chance of a day covers what is supposed"
RELEASES_NOTHING = "Until it is known the car stays stopped: a supposition releases nothing."
REFUSE = "a plan that supposes nothing: drybuild plan {folder} --suppose-nothing"
MOST = 6


def counted(many: int) -> str:
    """``14 checks``."""
    return f"{many} check{'s' if many != 1 else ''}"


def count_text(supposed: Iterable[Supposed]) -> str:
    """``14 checks that nobody can know yet``."""
    return f"{counted(len(tuple(supposed)))} that nobody can know yet"


def supposed_line(plan: Plan) -> str:
    """All of it in one line: how many, what to measure first, before when; empty for none."""
    if not plan.supposed:
        return ""
    said = f"Supposed while planning: {count_text(plan.supposed)} turn out well"
    if plan.measure:
        said += f"; measure first: {to_measure_text(plan.measure[0])}"
    return f"{said}; before {before_text(plan.supposed)}; {NOT_COVERED}"


def before_text(supposed: Iterable[Supposed]) -> str:
    """The moment by which the first of it must be known."""
    first = min(datetime.fromisoformat(one.before) for one in supposed)
    return f"{short_day(first)} {clock(first)}"


def to_measure_text(m: ToMeasure) -> str:
    """What to measure, with what and how long: ``tyre marking: eye, 1 min, bears on 15 of it``."""
    words = m.note_as.removeprefix("part.").split(".")
    if m.both_sides:
        words = [w for w in words if w not in SIDES]
    named = " ".join(words).replace("_", " ") if m.note_as.startswith("part.") else plain_name(
        ".".join(words)
    )  # fmt: skip
    both = ", both sides" if m.both_sides else ""
    return f"{named} ({m.tool}, {m.minutes} min{both})"


def bears_text(m: ToMeasure) -> str:
    """``bears on 15 of these checks``."""
    return f"bears on {m.bears_on} of these checks" if m.bears_on != 1 else "bears on one of these"


def one_text(one: Supposed) -> str:
    """One check that is supposed, with its places and how it stands as guessed."""
    where = places(one.subjects)
    said = f"{where}: {one.why}" if where else one.why
    if one.chance is not None and one.waits_for == "narrowing":
        said += f"; as guessed enough: {joint_text(one.chance)}"
    return said


def in_order(supposed: Iterable[Supposed]) -> list[Supposed]:
    """The likeliest to disappoint first: what nobody can compute, then by its chance."""
    return sorted(supposed, key=lambda s: -1.0 if s.chance is None else s.chance)
