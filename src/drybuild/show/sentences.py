"""Findings, uses and holds in short sentences (DESIGN §11)."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite

from drybuild.build.declared import declaration
from drybuild.build.drawn import quantity_kind
from drybuild.build.model import Part
from drybuild.build.part_named import called
from drybuild.examine import Examination, Fix, Hold, Measurement, UseState
from drybuild.examine.fixes import shown_setting
from drybuild.examine.measuring import LEAST, NOT_STATED
from drybuild.examine.naming import WAYS, by_way, car_name, lacking_text, plain_name, worth_asking
from drybuild.findings import CORNERS, Finding, Verdict
from drybuild.findings.finding import RESTS_ON_ASSUMED
from drybuild.findings.words import RangeNote, uses
from drybuild.show.bands import limit_figures, room_figures, said_as
from drybuild.values import System, band_text, number_of, short_text, show, unsigned

HALF = 0.5
"""Of one question: with less, a measurement more likely leaves it open."""
TOGETHER = "; what two cause only together counts for both"
APART_SHOWN = 2
"""Of what stands open on a car, how many are named."""

SURELY = 0.015
"""Beyond what rounding each to a percent makes of a whole."""


@dataclass(frozen=True)
class Group:
    """One check with one verdict at several places; ``finding`` is the heaviest of them."""

    finding: Finding
    subjects: tuple[str, ...]


def stopping(examination: Examination) -> list[Finding]:
    """Findings that stop something, the heaviest first."""
    return sorted((f for f in examination.findings if f.stopping), key=lambda f: f.weight)


def told_first(examination: Examination) -> list[Finding]:
    """What stops something, in the order in which it is told: before all the finding that the
    build was begun with, until it is enough, also where it stops nothing."""
    heavy, asked = stopping(examination), examination.state.build.head.asked
    mine = next((f for f in examination.findings if is_asked(f, asked)), None)
    if mine is None or not mine.armed or mine.verdict is Verdict.ENOUGH:
        return heavy
    return [mine, *(f for f in heavy if f is not mine)]


def is_asked(finding: Finding, asked: str) -> bool:
    """Whether it is the finding that a build says that it was begun with."""
    return f"{finding.check} {finding.subject}" == asked


def grouped(findings: Iterable[Finding]) -> list[Group]:
    """Findings of one check and one verdict together, in the order of the first of each."""
    found: dict[tuple[str, Verdict], list[Finding]] = {}
    for finding in findings:
        found.setdefault((finding.check, finding.verdict), []).append(finding)
    return [Group(same[0], tuple(f.subject for f in same)) for same in found.values()]


def places(subjects: Iterable[str]) -> str:
    """Subjects in words: ``rear, both sides``, ``all four corners``; empty for the car."""
    left = [s for s in dict.fromkeys(subjects) if s != "car"]
    said = []
    if set(left) >= set(CORNERS):
        said, left = ["all four corners"], [s for s in left if s not in CORNERS]
    for axle in ("front", "rear"):
        pair = [f"{axle}.left", f"{axle}.right"]
        if set(pair) <= set(left):
            said.append(f"{axle}, both sides")
            left = [s for s in left if s not in pair]
    if left == ["front", "rear"]:
        said, left = [*said, "front and rear"], []
    return "; ".join([*said, ", ".join(s.replace(".", " ") for s in left)] if left else said)


JOINT_MEANS = "the chance that every limit worked out here is kept at the same time"
"""What *all of it enough at once* is, where it is first met."""

HOLDS_DOWN = "checks that come out short or unsure hold it down"
A_CHECK = (
    "A check is one limit of the car that is worked out here. Short: beyond it. Unsure: too close "
    "to call. Unmeasured: a figure for it is missing."
)
NO_CHECK = "nothing"
"""What holds a joint chance down where none is short or unsure."""

SMALL_DOUBTS = (
    "no check alone is short or unsure; together, the small doubts that they leave hold it down"
)


def headline(finding: Finding, subjects: tuple[str, ...] = ()) -> str:
    """What is the matter, in one line, without its number."""
    where = places(subjects or (finding.subject,))
    said = finding.said_short if finding.verdict is Verdict.SHORT else finding.title
    return f"{where}: {said}" if where else said


def margin_text(finding: Finding, system: System) -> str:
    """The margin as a builder says it, with its doubt and the chance."""
    if finding.margin is None:
        return lacking_text(finding)
    if finding.kind == "match":
        if finding.margin.median > 0:
            return f"yes{', as guessed' * (finding.why == RESTS_ON_ASSUMED)}"
        return f"by what the files say{', and one side of it is a guess' * finding.guessed_match}"
    guessed = ", as guessed" * (finding.why == RESTS_ON_ASSUMED)
    return f"{room_text(finding, system)}; {chance_text(finding.chance)}{guessed}"


def group_text(group: Group, system: System) -> str:
    """The margin of the first of a group, and of which it is where they are several."""
    said = margin_text(group.finding, system)
    if len(group.subjects) == 1 or group.finding.margin is None or group.finding.kind == "match":
        return said
    return f"{places((group.finding.subject,))} {said}"


def room_text(finding: Finding, system: System) -> str:
    """How much is short or to spare, with its doubt."""
    m = finding.margin
    if m is None:
        return ""
    if not isfinite(m.median):
        return "short by more than any figure says" if m.median < 0 else "any amount to spare"
    said = room_figures(finding, system)
    if m.low < 0 < m.high:
        middle, low, high, label = said
        unit = f" {label}" if label else ""
        worst = f"{unsigned(low)}{unit}" if isfinite(m.low) else "far"
        best = high if isfinite(m.high) else "far more"
        if number_of(middle) == 0:
            return f"just level: from {worst} short to {best} to spare"
        side = "short" if m.median < 0 else "to spare"
        middle = unsigned(middle)
        worst = worst.removesuffix(unit) if unit else worst
        return f"about {middle}{unit} {side}: from {worst} short to {best} to spare"
    if m.median < 0:
        lead = "beyond what is allowed by " if _beyond(finding, m.median) else "short by "
        return lead + short_text(said)
    return "room to spare " + band_text(said)


def wanted_text(finding: Finding, system: System) -> str:
    """That the gap wanted is counted, and the room without it; empty where no gap is wanted.

    Its doubt is that of the room, which stands before it: it is told once.
    """
    found = finding.slack
    if found is None or not finding.gap_wanted or finding.kind == "match":
        return ""
    if not isfinite(found.median):
        return ""
    middle, _, _, label = limit_figures(finding, system)
    unit = f" {label}" if label else ""
    there = f"{unsigned(middle)}{unit}" + (" short" if number_of(middle) < 0 else "")
    wanted = show(said_as(finding.kind), finding.gap_wanted, system=system)
    return f"counted with the {wanted} that is wanted; to the limit itself about {there}"


def _beyond(finding: Finding, median: float) -> bool:
    """A relative shortfall that is an excess: unlike the map, or more than all that is allowed.

    Nothing lacks more than the whole of itself; what is off by more lies over a limit.
    """
    unlike = finding.system == "calibration"
    return said_as(finding.kind) == "fraction" and (unlike or median < -1)


def both(finding: Finding) -> str:
    """What is said of its unknowns where their shares come to more than the whole."""
    whole = sum(round(u.share, 2) for u in finding.unknowns)
    return TOGETHER if whole > 1.0 + SURELY else ""


def chance_text(chance: float | None) -> str:
    """``enough 97 in 100``; the ends are said in words, never as 0 or 100 in 100."""
    if chance is None:
        return ""
    if chance >= 0.995:
        return "enough nearly every time" if chance < 1 else "enough every time"
    if chance <= 0.005:
        return "hardly ever enough" if chance > 0 else "never enough"
    return f"enough {round(chance * 100)} in 100"


def joint_text(chance: float | None) -> str:
    """A joint chance as ``81 in 100``."""
    if chance is None:
        return "nothing to count"
    if 0 < chance < 0.005:
        return "less than 1 in 100"
    if 0.995 <= chance < 1:
        return "more than 99 in 100"
    return f"{round(chance * 100)} in 100"


@dataclass(frozen=True, slots=True)
class Joint:
    """*All of it enough at once* in words: how often, and how many checks hold it down; held is
    empty where nothing is counted."""

    chance: str
    held: str


def joint_of(examination: Examination) -> Joint:
    """The joint chance of a car, ``0 in 100``, and what holds it down, ``3 short, 12 unsure``.

    What is unmeasured is in no chance: how much that is stands beside it, and where it is more
    than half, no chance is said.
    """
    armed = [f for f in examination.findings if f.armed]
    counted = [f.verdict for f in armed if f.margin is not None]
    lacking, whole = len(armed) - len(counted), len(armed)
    if not counted or lacking > HALF * whole:
        waits = f"not counted while {lacking} of {whole} findings are unmeasured"
        return Joint(waits if whole else joint_text(None), "")
    beside = f" ({lacking} of {whole} unmeasured, not in it)" if lacking else ""
    held = [(counted.count(v), v) for v in (Verdict.SHORT, Verdict.UNSURE)]
    said = ", ".join(f"{number} {verdict}" for number, verdict in held if number)
    return Joint(joint_text(examination.joint_chance) + beside, said or NO_CHECK)


def joint_words(
    here: Joint, there: Joint | None = None, with_: str = "", called: str = ""
) -> tuple[str, str]:
    """How often all of it is enough at once, and what that means; empty where none is counted.

    called: the car, where it is named; there: of another car, called ``with_``.
    """
    mark = ":" if called else ""
    both = [(f"{called}{mark} " if called else "", here)]
    both += [(f"{with_}{mark} ", there)] if there is not None else []
    chances = "; ".join(f"{name}{one.chance}" for name, one in both)
    held = [(name, one.held) for name, one in both if one.held]
    if not held:
        return chances, ""
    if all(what == NO_CHECK for _, what in held):
        sure = all(one.chance.startswith(joint_text(1.0)) for _, one in both if one.held)
        return chances, JOINT_MEANS if sure else f"{JOINT_MEANS}; {SMALL_DOUBTS}"
    said = "; ".join(f"{name}{what}" for name, what in held)
    return chances, f"{JOINT_MEANS}; {HOLDS_DOWN}: {said}"


def use_reason(use: UseState) -> str:
    """Why a use is stopped, in a few words; empty when nothing recorded stops it. Of a car that is
    apart, the uses that it needs and that are stopped by that come before a reason of its own."""
    direct = [h for h in use.holds if not h.through]
    if not use.holds:
        return ""
    apart = {h.through for h in use.holds if h.through and h.kind == "open"}
    if not direct:
        return _needs_first({h.through for h in use.holds})
    first = hold_texts(direct)
    more = len(first) - 1
    said = f"{first[0][0]}; {more} more reason{'s' if more > 1 else ''}" if more else first[0][0]
    return f"{_needs_first(apart)}; {said}" if apart else said


def _needs_first(through: Collection[str]) -> str:
    return f"needs {' and '.join(u.name for u in uses() if u.name in through)} first"


def apart_text(examination: Examination) -> str:
    """How a car stands of which something is recorded as off or raised; empty of any other."""
    open_ = {h.check: h.why for use in examination.uses for h in use.holds if h.kind == "open"}
    return apart_words(list(open_.values())[:APART_SHOWN], len(open_))


def apart_words(shown: Sequence[str], of: int) -> str:
    """``the car is apart (off: front wheels; 3 more)``: said before what nothing recorded stops,
    which is no leave. shown: what is named of so many; empty where nothing is."""
    if not shown:
        return ""
    more = [f"{of - len(shown)} more"] if of > len(shown) else []
    return f"the car is apart ({'; '.join([*shown, *more])})"


def free_text(use: UseState) -> str:
    """That nothing recorded stops a use, what is left of it, and what it is outside of as found."""
    stops = "no change recorded stops it" if use.outside else "nothing recorded stops it"
    said = f"{stops}, {use.only}" if use.only else stops
    return "; ".join(filter(None, (said, outside_text(use))))


def outside_text(use: UseState) -> str:
    """How many rules about a use the car is outside of as found; empty where it is of none."""
    return f"outside a rule as found: {len(use.outside)}" if use.outside else ""


def hold_texts(holds: Iterable[Hold]) -> list[tuple[str, str]]:
    """Reason and next action of each check or record that holds, its places said together."""
    same: dict[tuple[str, str], list[Hold]] = {}
    for hold in holds:
        same.setdefault((hold.check, hold.anywhere), []).append(hold)
    found = []
    for (_, rest), these in same.items():
        where = places(h.subject for h in these)
        do = these[0].do if len(these) == 1 else _for_all(these)
        found.append((f"{where}: {rest}" if where else rest, do))
    return found


def _for_all(holds: list[Hold]) -> str:
    said = tuple(dict.fromkeys(h.do for h in holds))
    if len(said) == 1:
        return said[0]
    return f"{said[0]}; likewise {places(h.subject for h in holds[1:])}"


def measured_name(m: Measurement, parts: Mapping[str, Part]) -> str:
    """What is to be measured; without its side where both are, a part in hand by its name where
    ``parts`` have it, else by its id."""
    if m.note_as.startswith("part."):
        found = parts.get(m.note_as.split(".")[1])
        return in_hand_name(m.input, m.note_as, called(found) if found is not None else "")
    words = m.input.split(".")
    if m.both_sides:
        words = [w for w in words if w not in ("left", "right")]
    return car_name(".".join(words), parts)


def in_hand_name(address: str, note_as: str, part: str) -> str:
    """What is measured of a part in hand: ``tyre to be chosen, marking``; ``part`` is its name,
    address: of the fact at a place where it may go."""
    _, part_id, *fact = note_as.split(".")
    known = declaration(address.removeprefix("base:"))
    words = known.plain if known is not None else " ".join(fact).replace("_", " ")
    return f"{part}, {words}" if part else f"{part_id.replace('_', ' ')} {words}"


def refused_text(error: Exception, address: str) -> str:
    """A refusal as a page says it: the fact that it begins with by its words."""
    where, colon, rest = str(error).partition(": ")
    if where != address and declaration(where) is None:
        return str(error)
    return f"{plain_name(where.removeprefix('part.'))}{colon}{rest}"


def measurement_text(m: Measurement, parts: Mapping[str, Part]) -> str:
    """One line on what to measure and with what."""
    each = " a side, both sides" if m.both_sides else ""
    return f"{measured_name(m, parts)}: {m.tool}, {m.minutes} min{each}"


STAY = "unsure until a better word on the guesses in it"
"""What a finding about injury is while guesses are in it, however much room is read."""


def settled_text(m: Measurement) -> str:
    """How many of the open findings that rest on it it may settle, and how likely where that is
    all of them: a chance over its possible readings, no promise."""
    many, count = len(m.findings), max(1, round(m.alone))
    if m.alone < HALF and m.as_guessed >= HALF:
        return _as_guessed_text(m)
    if m.alone < HALF:
        return _not_settled_text(m)
    if count < many:
        return f"may settle about {count} of the {many} that rest on it"
    chance = joint_text(min(m.alone / many, 0.999))  # of the readings tried: no certainty
    if many == 1:
        return f"may settle the one that rests on it, {chance}"
    return f"may settle {'both' if many == 2 else f'all {many}'} that rest on it, {chance} each"


def _as_guessed_text(m: Measurement) -> str:
    """What a reading may show, where guesses stay that no reading of it makes enough."""
    many, count = len(m.findings), max(1, round(m.as_guessed))
    if count < many:
        return f"may show room, as guessed, in about {count} of the {many} that rest on it; {STAY}"
    chance = joint_text(min(m.as_guessed / many, 0.999))
    if many == 1:
        return f"may show room, as guessed, in the one that rests on it, {chance}; {STAY}"
    them = "both" if many == 2 else f"all {many}"
    return f"may show room, as guessed, in {them} that rest on it, {chance} each; {STAY}"


def _not_settled_text(m: Measurement) -> str:
    """What a measurement does that by itself is not expected to settle anything."""
    many = len(m.findings)
    one, them = ("the one that rests", "it") if many == 1 else (f"one of {many} that rest", "one")
    if m.narrows >= LEAST:
        off = f"takes about {round(100 * m.narrows, -1):.0f} % off the doubt of {one} on it"
        return f"{off}; may settle {them}" if m.alone > 0 else f"{off}; more is needed to settle it"
    if m.settles > m.alone:
        all_of = "the one that rests on it" if many == 1 else f"each of the {many} that rest on it"
        if m.now == NOT_STATED:
            return f"is wanted for {all_of}; more is wanted there"
        return f"takes one guess out of {all_of}; more are in it"
    return f"may settle {one} on it"


def fix_text(fix: Fix, system: System = "metric") -> str:
    """A fix in one line."""
    said = [
        title if change.kind == "fit" else f"{name}: {shown_setting(change, system)}"
        for title, (name, change) in zip(fix.titles, fix.settings, strict=True)
    ]
    return " and ".join(said)


def rest_text(finding: Finding) -> str:
    """What is to be known for the doubt that a finding has: ``measure front camber``."""
    found = by_way(worth_asking(finding)[:2], seen_from=finding.subject)
    return "; ".join(f"{WAYS[way][1]} {names}" for way, names in found.items())


def range_text(note: str, examination: Examination, system: System) -> str:
    """A note that a range was left, in the reader's units."""
    if not isinstance(note, RangeNote):
        return note
    kind = next((k for a in note.addresses if (k := _kind_at(a, examination))), None)
    if kind is None:
        return str(note)
    often = "always" if note.share >= 1 else f"{max(1, round(100 * note.share))} in 100"
    low, high = (show(kind, end, system=system) for end in (note.low, note.high))
    if note.low == float("-inf"):
        left = f"above {high}, the end"
    elif note.high == float("inf"):
        left = f"below {low}, the end"
    else:
        left = f"outside {low} to {high}, the range"
    return f"{note.key.rstrip('_').replace('_', ' ')} {left} of a formula, {often}"


def _kind_at(template: str, examination: Examination) -> str | None:
    blends = examination.state.build.blends
    filled = {"corner": CORNERS[0], "axle": "front", "side": "left", "blend": (*blends, "")[0]}
    address = template.format_map(filled)
    found = examination.evaluation.registry.instances(blends).get(address)
    if found is not None:
        return found[0].kind
    declared = declaration(address)
    try:
        return quantity_kind(declared) if declared is not None else None
    except KeyError:
        return None
