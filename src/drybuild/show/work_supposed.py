"""What a plan supposes, in words: loud enough that nobody takes a supposition for a finding."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from drybuild.examine.measuring import EYE
from drybuild.examine.naming import plain_name
from drybuild.findings import SIDES
from drybuild.show.cards_words import clock, short_day
from drybuild.show.sentences import in_hand_name, joint_text, places
from drybuild.work.model import Plan, Supposed, ToMeasure

NOT_COVERED = "no chance of a day covers what is supposed"
RELEASES_NOTHING = "Until it is known the car stays stopped: a supposition releases nothing."
REFUSE = "a plan that supposes nothing: drybuild plan {folder} --suppose-nothing"
MOST = 3
"""Measurements that are named before the rest is asked for."""


def counted(many: int) -> str:
    """``14 checks``."""
    return f"{many} check{'s' if many != 1 else ''}"


def count_text(supposed: Iterable[Supposed]) -> str:
    """``14 checks come out well that nobody can answer yet``."""
    many = len({one.check for one in supposed})
    return f"{counted(many)} come{'s' if many == 1 else ''} out well that nobody can answer yet"


def supposed_line(plan: Plan) -> str:
    """All of it in one line: how many, what to measure first, before when; empty for none."""
    if not plan.supposed:
        return ""
    said = f"Supposed while planning: {count_text(plan.supposed)}"
    if plan.measure:
        said += f"; measure first: {to_measure_text(plan.measure[0])}"
    return f"{said}; before {before_text(plan.supposed)}; {NOT_COVERED}"


def first_session_line(plan: Plan, session: str) -> str:
    """The same on what is worked with in the first session of a plan; empty on any other's."""
    first = plan.steps[0].session if plan.steps else ""
    return supposed_line(plan) if session == first else ""


def before_text(supposed: Iterable[Supposed]) -> str:
    """The moment by which the first of it must be known."""
    first = min(datetime.fromisoformat(one.before) for one in supposed)
    return f"{short_day(first)} {clock(first)}"


def to_measure_text(m: ToMeasure) -> str:
    """What to measure, with what and how long: ``tyre to be chosen, marking (read off, 1 min)``."""
    words = [w for w in m.note_as.split(".") if not m.both_sides or w not in SIDES]
    in_hand = m.note_as.startswith("part.")
    named = in_hand_name(m.input, m.note_as, m.part) if in_hand else plain_name(".".join(words))
    both = ", both sides" if m.both_sides else ""
    with_what = "read off" if m.tool == EYE else m.tool
    return f"{named} ({with_what}, {m.minutes} min{both})"


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
