"""What is known with the answers given so far: one answer with its doubt, and what to measure.

The folder that the answers make is written aside, examined like any other, and thrown away; so the
page shows what the build will say, and nothing lies about if somebody goes away half way.
"""

from __future__ import annotations

import tempfile
import threading
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from drybuild.asking.beginning import make
from drybuild.asking.questions import (
    ALSO,
    MEASURED,
    SURE,
    WHO_ASKED,
    AnswerRefused,
    Answers,
    FarOff,
    Figure,
    asked_along,
    with_unit,
)
from drybuild.asking.understood import nobody_knows
from drybuild.build.declared import Declared, declaration, field_kind, is_word
from drybuild.examine import Examination
from drybuild.examine.measuring import LOOK_UP_FIRST, note_as, way_for
from drybuild.examine.naming import plain_name, to_be_chosen
from drybuild.examine.opened import OpenBuild, open_build
from drybuild.findings import Fact, Finding, Unknown, Verdict
from drybuild.show.doubt_band import GUESS, Spread, slip_text
from drybuild.show.sentences import in_hand_name
from drybuild.values import KINDS, quantile, shown_unit

POINTS = {
    "corners.tyre_upright_gap": "upright_point", "corners.tyre_arm_gap": "arm_point",
    "corners.tyre_arch_gap": "arch_point",
}  # fmt: skip
"""Room at a wheel, standing and straight ahead → the point that it is measured to."""

BY_GAP = {"wheels": tuple(POINTS), "springs": tuple(POINTS)[1:], "": tuple(POINTS)}
"""First changes whose answer is a gap at a wheel; springs do not move the upright's."""

SHANK, MAKER = "drill shank", "maker"
ROOM = {
    "brakes": ("brakes",),
    "breathing": ("breathing",),
    "fuel": ("fuel",),
    "map": ("calibration",),
}
"""First changes whose answer is of another sort → the rooms whose checks it comes from."""

LIKELY = 0.975
KEPT = 64

Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Asked:
    """The one measurement. address: where it is written; named: in words; of: the finding that it
    narrows; share: of that finding's doubt; least, most: the readings that are likely, SI; to_come:
    of a part that is not on the car, whose figure is looked up."""

    address: str
    named: str
    doc: str
    how: str
    tool: str
    kind: str
    of: Key
    share: float
    most: float = 0.0
    least: float = 0.0
    to_come: bool = False

    @property
    def unit(self) -> str:
        """The unit that is meant where none is typed."""
        return shown_unit(KINDS[self.kind], 0.0, "metric")[1] if self.kind else ""


@dataclass(frozen=True, slots=True)
class Kept:
    """What of a gap that was measured is no room. reading, growth: m; share: of the tyre's width
    that it may grow."""

    reading: float
    growth: float
    share: float


@dataclass(frozen=True)
class Told:
    """What is known. findings: every one with a margin, and those that lack an input; kept: of the
    reading, where one was taken of a gap at a wheel."""

    findings: dict[Key, Finding]
    focus: Key | None
    asks: Asked | None
    armed: int
    settled: int
    notes: tuple[str, ...]
    coming: Finding | None
    kept: Kept | None = None


class Tells:
    """What was told to whom answered what, kept so that going back costs nothing."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: OrderedDict[tuple[tuple[str, str], ...], Told] = OrderedDict()

    def told(self, answers: Answers) -> Told:
        """What is known with these answers."""
        key = tuple(sorted(answers.items()))
        with self._lock:
            if key not in self._kept:
                self._kept[key] = self._examined(answers)
                while len(self._kept) > KEPT:
                    self._kept.popitem(last=False)
            self._kept.move_to_end(key)
            return self._kept[key]

    def asks(self, answers: Answers) -> Asked | None:
        """What is measured at the end, from the answers before it."""
        return self.told(before_measuring(answers)).asks

    def _examined(self, answers: Answers) -> Told:
        asked = None
        if answers.get(MEASURED):
            before = before_measuring(answers)
            key = tuple(sorted(before.items()))
            asked = (self._kept.get(key) or self._examined(before)).asks
        with tempfile.TemporaryDirectory(prefix="drybuild-", ignore_cleanup_errors=True) as aside:
            folder = Path(aside) / "first"
            make(
                folder, answers, measured_at=asked.address if asked else "",
                tool=asked.tool if asked else "",
            )  # fmt: skip
            opened = open_build(folder)
            return _told(opened, opened.examine(), answers.get("first", ""), asked)


def before_measuring(answers: Answers) -> dict[str, str]:
    """The answers up to the measurement."""
    after = {MEASURED, WHO_ASKED, SURE, ALSO, *(q.name for q in asked_along(answers))}
    return {k: v for k, v in answers.items() if k not in after}


def read_measured(asked: Asked, text: str, sure: str = "") -> str:
    """A reading as it is kept. Raises AnswerRefused; FarOff where it is far off what was expected
    and not what somebody is ``sure`` of."""
    said = " ".join(text.replace("−", "-").split())
    if nobody_knows(said):
        return ""
    if asked.tool == SHANK and said.startswith("-"):
        raise AnswerRefused(
            f"found {said!r}, expected the thickness of a drill shank. Where not even the thinnest "
            "goes between: 0 to 1 mm"
        )
    read = with_unit(said, Figure("", (), asked.kind, asked.unit))
    if read != sure and (far := _far_off(asked, read)):
        raise FarOff(far, read)
    return read


def _far_off(asked: Asked, read: str) -> str:
    """What is asked of a reading far off what the car as known can have; empty of any other."""
    if not asked.kind or asked.least >= asked.most:
        return ""
    expected = Spread(asked.kind, asked.least, (asked.least + asked.most) / 2, asked.most, GUESS)
    return slip_text(expected, read, "metric")


def _told(opened: OpenBuild, examination: Examination, first: str, asked: Asked | None) -> Told:
    armed = [f for f in examination.findings if f.armed]
    chosen = armed or list(examination.findings)
    checks = BY_GAP.get(first, ())
    gaps = [f for f in chosen if f.check in checks] or [
        f for f in examination.findings if f.check in checks
    ]
    asks: Asked | None = None
    focus: Finding | None = None
    if first in BY_GAP:
        focus = _tightest(gaps)
        asks = _gap_asked(focus, examination) if focus is not None else None
    else:
        asks, focus = _other_asked(examination, first)
    if asked is not None:
        asks = asked
        focus = next(f for f in examination.findings if (f.check, f.subject) == asked.of)
    return Told(
        {(f.check, f.subject): f for f in examination.findings},
        (focus.check, focus.subject) if focus is not None else None,
        asks,
        len(armed),
        sum(f.verdict in (Verdict.ENOUGH, Verdict.SHORT) for f in armed),
        tuple(opened.notes()),
        _worst(armed, focus),
        _kept(asked, examination) if asked is not None else None,
    )


def _kept(asked: Asked, examination: Examination) -> Kept | None:
    """What the tyre may grow into of a gap beside it, as the workings have it."""
    table, *where, point = asked.address.split(".")
    if table != "corner" or point != "gap":
        return None
    corner = ".".join(where[:2])
    reading = _middle(examination, asked.address)
    width = _middle(examination, f"corners.section_width.{corner}")
    half = _middle(examination, f"corners.half_width.{corner}")
    share = _middle(examination, f"corners.growth.{corner}")
    if reading is None or width is None or half is None or share is None:
        return None
    # Where the rim stands out further than the tyre, the tyre's growth takes nothing there.
    return Kept(reading, min(width * share / 2, max(half - width / 2, 0.0)), share)


def _middle(examination: Examination, address: str) -> float | None:
    """The median at an address, a fact's or a result's, SI."""
    found = examination.evaluation.get(address)
    return quantile(found.value, 0.5) if found.known else None


def _tightest(findings: Iterable[Finding]) -> Finding | None:
    """The least sure of them; one that lacks an input only where none has a number."""
    found = list(findings)
    known = [f for f in found if f.margin is not None and f.chance is not None]
    # Beyond every doubt nothing is told apart by the chance: then the least room comes first.
    return min(known, key=_order) if known else next(iter(found), None)


def _order(f: Finding) -> tuple[float, float]:
    assert f.margin is not None  # only findings with one are put in order
    return f.chance or 0.0, f.margin.median


def _worst(armed: list[Finding], focus: Finding | None) -> Finding | None:
    """The next finding to look at, other than the answer."""
    others = [f for f in armed if f.margin is not None and f.kind != "match"
              and f.verdict in (Verdict.SHORT, Verdict.UNSURE)
              and (focus is None or f.check != focus.check)
              and (f.chance is None or f.chance < 0.95)]  # fmt: skip
    return min(others, key=_order) if others else None


def _gap_asked(focus: Finding, examination: Examination) -> Asked | None:
    """The distance behind the answer that bears on it most; across, it is a drill shank's."""
    stem = f"corner.{focus.subject}.{POINTS[focus.check]}"
    shares = {u.input: u.share for u in focus.unknowns}
    best = max((f"{stem}.gap", f"{stem}.over"), key=lambda a: shares.get(a, 0.0))
    declared = declaration(best)
    if declared is None or declared.measure is None:
        return None
    across = best.endswith(".gap")
    return Asked(
        best, plain_name(best), declared.doc, "" if across else declared.measure.how,
        SHANK if across else declared.measure.tool, field_kind(declared.field) or "length",
        (focus.check, focus.subject), shares.get(best, 0.0), *_likely(best, examination),
    )  # fmt: skip


def _likely(address: str, examination: Examination) -> tuple[float, float]:
    """The largest and the least that a fact is likely to be, SI; 0 where nothing is stated."""
    fact = examination.evaluation.facts.fact(address)
    value = fact.value if isinstance(fact, Fact) else None
    if not isinstance(value, np.ndarray):
        return 0.0, 0.0
    return quantile(value, LIKELY), quantile(value, 1 - LIKELY)


def _other_asked(examination: Examination, first: str) -> tuple[Asked | None, Finding | None]:
    """Where no gap bears: what can be measured that carries most of an open finding's doubt."""
    mine = [f for f in examination.findings if f.armed and f.check.split(".")[0] in ROOM[first]
            and f.margin is not None and f.kind != "match" and _agrees(f)]  # fmt: skip
    best: tuple[float, Asked, Finding] | None = None
    for focus in mine:
        for unknown in focus.unknowns:
            declared = declaration(unknown.input.removeprefix("base:"))
            if declared is None or declared.measure is None or not _numeric(declared):
                continue
            # Half and half is most open; what is sure either way leaves little to measure for.
            worth = unknown.share * (1.01 - 2 * abs((focus.chance or 0.0) - 0.5))
            if best is None or worth > best[0]:
                best = (worth, _asked(examination, declared, unknown, focus), focus)
    return (best[1], best[2]) if best else (None, _tightest(mine))


def _agrees(finding: Finding) -> bool:
    """Whether its band tells what its chance does: draws that are not solved are in one alone."""
    assert finding.margin is not None  # only findings with one are looked at
    return ((finding.chance or 0.0) >= 0.5) == (finding.margin.median >= 0.0)


def _asked(
    examination: Examination, declared: Declared, unknown: Unknown, focus: Finding
) -> Asked:  # fmt: skip
    assert declared.measure is not None  # only such are asked
    plain = unknown.input.removeprefix("base:")
    address = note_as(declared, examination, as_found=unknown.input.startswith("base:"))
    named = plain_name(address)
    how, tool, to_come = declared.measure.how, declared.measure.tool, False
    if address.startswith("part."):
        part = examination.state.build.parts[address.split(".")[1]]
        named = in_hand_name(declared.address, address, part.name or "")
        to_come = to_be_chosen(part.name or "")
        if way_for(declared, address, examination.state.base_fitted.values()) is LOOK_UP_FIRST:
            how, tool, to_come = LOOK_UP_FIRST.how, MAKER, True
        elif to_come:
            how, tool = f"its maker or seller says it; once it is in hand: {how} ({tool})", MAKER
    return Asked(
        address, named, declared.doc, how, tool, field_kind(declared.field) or "",
        (focus.check, focus.subject), unknown.share, *_likely(plain, examination),
        to_come=to_come,
    )  # fmt: skip


def _numeric(declared: Declared) -> bool:
    return not is_word(declared) and field_kind(declared.field) is not None
