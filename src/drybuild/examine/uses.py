"""What the car may do in a state: uses, the holds that stop them, and the records owed.

Calculation may stop; only a recorded hand check may release (DESIGN idea 4). In the present state
a record that is owed stops its uses; for any other state it is listed beside them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from drybuild.build import Change, State
from drybuild.build.kinds import place_of
from drybuild.examine.guesses import guesses_text
from drybuild.examine.naming import (
    WAYS,
    asking_text,
    lacking_text,
    plain_name,
    way_to_know,
    worth_asking,
)
from drybuild.findings import Consequence, Finding, RecordSpec, Registry, Verdict
from drybuild.findings.finding import RECALLED, WaitsFor
from drybuild.findings.words import stopped_with, use_closure, uses
from drybuild.values import HowKnown

LIKELY = 0.1
"""Below this chance, or that far from certain, an open finding is not too close to call."""

JUDGE = "no measurement settles it: ask the maker, or choose what can be worked out"
"""What is to be done where all is stated and nothing can be worked out from it."""

_RAISED = "raised"
"""How the ids of the work library begin by which the car stands off its wheels."""


@dataclass(frozen=True, slots=True)
class Hold:
    """What stops a use until it is lifted.

    check: id of the check or record; through: the prerequisite that it stops, or empty when it
    stops the use itself; do: the next physical action. waits_for: as ``Finding.waits_for`` has it.
    """

    check: str
    subject: str
    why: str
    do: str
    through: str = ""
    kind: str = "check"
    safety: str = ""
    waits_for: WaitsFor = ""

    @property
    def anywhere(self) -> str:
        """Why, whichever place it is of."""
        return anywhere(self.why, self.subject)


def anywhere(why: str, subject: str) -> str:
    """A reason without the place before it."""
    return why.removeprefix(f"{subject.replace('.', ' ')}: ")


@dataclass(frozen=True, slots=True)
class Owed:
    """A record still to be made: evidence wanted, whether a second person must be there, and
    whether it is seen while the wheel hangs."""

    record: str
    title: str
    places: tuple[str, ...]
    stops: tuple[str, ...]
    evidence: tuple[str, ...]
    second_person: bool
    do: str
    safety: str
    hanging: bool = False


@dataclass(frozen=True, slots=True)
class UseState:
    """One use in one state: whether nothing recorded stops it, and what does or is still owed.

    only: what is left of it where it is not stopped itself, but another use is; else empty.
    outside: rules about this use that the car is outside of as found. No change touched them, so
    they stop nothing, and the authority may all the same.
    """

    use: str
    allowed: bool
    joint_chance: float | None
    holds: tuple[Hold, ...]
    records_owed: tuple[Owed, ...]
    only: str = ""
    outside: tuple[Finding, ...] = ()


def use_states(
    state: State,
    findings: list[Finding],
    rows: npt.NDArray[np.float64],
    registry: Registry,
) -> tuple[UseState, ...]:
    """Every use, in the order of uses.toml.

    Its holds: what it is stopped by itself, before what stops a use that it needs; of each what is
    open or taken off, then findings by their weight (short, unmeasured, unsure), then records.
    """
    present = state.name == "now"
    owed = records_owed(state, registry)
    direct = _statements(state)
    stopping = sorted((f for f in findings if f.stopping), key=lambda f: f.weight)
    direct += [(_hold(f), f.stops) for f in stopping]
    if present:
        direct += [(_record_hold(o), o.stops) for o in owed]
    found: list[UseState] = []
    for use in uses():
        needed = use_closure(use.name)
        holds = [_seen_from(use.name, hold, stops) for hold, stops in direct if needed & set(stops)]
        holds.sort(key=lambda h: (h.through != "", h.kind == "record"))
        mine = tuple(o for o in owed if needed & set(o.stops))
        chosen = np.array(
            [f.armed and f.margin is not None and bool(needed & set(f.stops)) for f in findings],
            dtype=bool,
        )
        chance = float(np.mean(np.all(rows[chosen] >= 0, axis=0))) if chosen.any() else None
        stopped = {u.use for u in found if not u.allowed}
        left = "; ".join(words for other, words in use.without if other in stopped)
        found.append(
            UseState(
                use.name, not holds, chance, tuple(holds), mine, left if not holds else "",
                tuple(f for f in findings if use.name in f.stops and _outside_as_found(f)),
            )
        )
    return tuple(found)


def _outside_as_found(finding: Finding) -> bool:
    law = finding.consequence is Consequence.LAW
    return law and not finding.armed and finding.verdict is Verdict.SHORT


def records_owed(state: State, registry: Registry) -> tuple[Owed, ...]:
    """Records that the state's Changes make owed and that have not been made since."""
    found = []
    for spec in registry.records.values():
        places = state.owed(spec.changed, spec.id)
        if places:
            found.append(_owed(spec, places))
    return tuple(found)


def _owed(spec: RecordSpec, places: tuple[str, ...]) -> Owed:
    return Owed(
        spec.id, spec.title, places, spec.stops, spec.evidence, spec.second_person,
        spec.do, spec.safety, spec.hanging,
    )  # fmt: skip


def do_of(finding: Finding) -> str:
    """What is to be done about a finding that is not enough: measured first, where that may do."""
    if finding.why == RECALLED:
        return "read the clause, then name it in car.toml under [registration] rules_read"
    if finding.verdict is Verdict.UNMEASURED:
        return JUDGE if finding.beyond else asking_text(finding)
    if finding.guessed_match:
        return f"look first whether it is so; if it is: {finding.do}"
    if finding.waits_for == "a better word":
        return guesses_text(finding) if finding.guesses else "measure or look up what is guessed"
    first = next(iter(worth_asking(finding)), "")
    most = plain_name(first, seen_from=finding.subject) if first else ""
    if finding.waits_for == "narrowing" and finding.do:
        asked = f"{WAYS[way_to_know(first)][1]} {most}" if most else "look up what it rests on"
        return f"{asked} first; if it stays open: {finding.do}"
    return finding.do


def open_text(finding: Finding) -> str:
    """How a finding lies that is neither enough nor short: too close, or nearly decided."""
    chance = 0.5 if finding.chance is None else finding.chance
    guessed = ", as guessed" if finding.lowest_known is HowKnown.ASSUMED else ""
    if chance < LIKELY:
        return f"likely short{guessed}"
    if chance <= 1 - LIKELY:
        return "too close to call"
    return f"likely enough{guessed or '; surer is wanted'}"


def _hold(finding: Finding) -> Hold:
    place = "" if finding.subject == "car" else f"{finding.place}: "
    why = f"{place}{finding.said_short}"
    if finding.verdict is Verdict.UNSURE:
        why = f"{place}{finding.title}: {finding.why or open_text(finding)}"
    elif finding.verdict is Verdict.UNMEASURED:
        why = f"{place}{finding.title}: {lacking_text(finding)}"
    return Hold(
        finding.check, finding.subject, why, do_of(finding), safety=finding.safety,
        waits_for=finding.waits_for,
    )  # fmt: skip


def _record_hold(owed: Owed) -> Hold:
    who = ", with a second person" if owed.second_person else ""
    return Hold(
        owed.record, "car", f"not recorded: {owed.title}", f"{owed.do}{who}", kind="record",
        safety=owed.safety,
    )  # fmt: skip


def _statements(state: State) -> list[tuple[Hold, tuple[str, ...]]]:
    """Holds that come from what the owner says, from what stands open and from what is missing."""
    found: list[tuple[Hold, tuple[str, ...]]] = []
    for component in dict.fromkeys(state.open):
        found.append(opened_hold(component, state))
    if state.name == "now":  # along a plan the library says it of each moment
        found += [
            (Hold(f"left.{one.name}", "car", one.title, one.do, kind="left"), one.stops)
            for one in state.left
        ]
    for instance in state.emptied:
        place = place_of()[instance]
        subject = instance.removeprefix(place.root).lstrip(".") or "car"
        name = plain_name(instance)
        hold = Hold(
            f"empty.{place.root}", subject, f"nothing is fitted: {name}", f"fit a part: {name}",
            kind="empty",
        )  # fmt: skip
        if place.stops_empty:
            found.append((hold, place.stops_empty))
    if state.build.head.driving is False:
        # No Change lifts it: that the work cured the fault is for a person to say.
        hold = Hold(
            "stated.not_driving", "car", "the owner says it is not driving today",
            "say what is wrong with it, mend that, and state it again", kind="statement",
        )  # fmt: skip
        found.append((hold, ("drive",)))
    return found


def opened_hold(component: str, state: State) -> tuple[Hold, tuple[str, ...]]:
    """What stands open stops what was written down with it; where nothing was, running and
    creeping. A raised car is not moved, and may run."""
    words = component.replace("_", " ")
    known: Any = next((c.value for c in reversed(state.changes) if _opens(c, component)), {})
    title, named = str(known.get("title", "")), known.get("stops", ())
    stops = tuple(u.name for u in uses() if u.name in named) or ("run", "creep")
    if component.startswith(_RAISED):
        where = words.removeprefix(_RAISED).strip()
        why, do = f"the car stands raised: {where}", f"let it down onto its wheels: {where}"
        stops = stops if named else ("move", "full load")
    elif title:
        why, do = f"off: {title}", f"refit and close: {title}"
    else:
        why, do = f"{words} is open", f"refit and close {words}"
    return Hold(f"open.{component}", "car", why, do, kind="open"), stops


def _opens(change: Change, component: str) -> bool:
    return change.kind == "open" and change.target == component and isinstance(change.value, dict)


def _seen_from(use: str, hold: Hold, stops: tuple[str, ...]) -> Hold:
    if use in stops:
        return hold
    needed = use_closure(use) & stopped_with(stops)
    nearest_use = next(u.name for u in uses() if u.name in needed)
    return replace(hold, through=nearest_use)
