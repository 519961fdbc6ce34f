"""Workings: the chain of formulas and numbers behind a finding; and every finding, by verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse

from drybuild.build.declared import declaration
from drybuild.examine import Examination, Step
from drybuild.examine.fixes import curable
from drybuild.examine.guesses import looked_up_first
from drybuild.examine.naming import car_name, plain_name
from drybuild.examine.not_now import told_now
from drybuild.examine.uses import do_of
from drybuild.examine.wanting import wanting
from drybuild.findings import Finding, Verdict
from drybuild.show.lines import percent
from drybuild.show.sentences import both, headline, margin_text, range_text, wanted_text
from drybuild.show.settling import Fold, at_a_glance, folded
from drybuild.show.steps import StepWords, step_words
from drybuild.show.text import OF_100, ORDER, RULE_IDS, alike, as_counted, counts_text
from drybuild.show.tyre_grows import why_half
from drybuild.values import System
from drybuild.web.edits import fact_at, noted_at
from drybuild.web.frame import Frame, framed
from drybuild.web.usual import offered

router = APIRouter()

Check = Annotated[str, InPath(pattern=r"^[a-z0-9_]+(\.[a-z0-9_]+)+$", max_length=80)]
Subject = Annotated[str, InPath(pattern=r"^[A-Za-z0-9_.-]+$", max_length=60)]

SAID: dict[int | str, dict[str, Any]] = {
    403: {"description": "not for this device"},
    404: {"description": "no such state or finding"},
}


FEW = 12
"""So many unsure findings stand in one list; more are folded by what settles them."""


@dataclass(frozen=True)
class Row:
    """A finding as it stands in the list: what is said, and where its workings are."""

    said: str
    margin: str
    notes: tuple[str, ...]
    finding: Finding
    subjects: tuple[str, ...]


@router.get("/findings", response_class=HTMLResponse, responses=SAID)
def findings(
    request: Request, state: str = "finished", of: Annotated[str, Query(max_length=80)] = ""
) -> HTMLResponse:
    """Every finding, folded by verdict, those unsure by what settles them.

    of: only those of these systems, apart by commas.
    """
    frame = framed(request, state)
    examination = frame.examination()
    systems = {f.system for f in examination.findings}
    wanted = {word.strip() for word in of.split(",") if word.strip()}
    if not wanted <= systems:
        unknown, known = (", ".join(sorted(some)) for some in (wanted - systems, systems))
        raise HTTPException(404, f"no findings of {unknown}; there are: {known}")
    shown = [f for f in examination.findings if not wanted or f.system in wanted]
    units = frame.opened.build.head.units
    groups: list[tuple[str, str, list[Row], list[tuple[Fold, list[Row]]], str]] = []
    for verdict in ORDER:
        chosen = sorted((f for f in shown if f.verdict is verdict), key=lambda f: f.weight)
        if verdict is Verdict.UNSURE and len(chosen) > FEW:
            ahead = told_now(frame.desk.measure_next(examination), frame.opened.present.state)
            folds = folded(chosen, ahead, frame.opened.build.parts)
            by = [(fold, _rows(fold.findings, examination, units)) for fold in folds]
            groups.append((str(verdict), as_counted(chosen), [], by, at_a_glance(folds)))
            continue
        rows = _rows(chosen, examination, units)
        groups.append((str(verdict), as_counted(chosen), rows, [], ""))
    return frame.page(
        "findings.html.j2",
        groups=groups,
        counts=counts_text(examination),
        of_100=OF_100,
        rule_ids=RULE_IDS if any(f.rules for f in shown) else "",
        of=", ".join(sorted(wanted)),
    )


def _rows(findings: Sequence[Finding], examination: Examination, units: System) -> list[Row]:
    """The findings as the list has them, alike ones together."""
    rows = []
    for group in alike(list(findings), examination, units):
        f = group.finding
        ranges = [range_text(note, examination, units) for note in f.outside_range]
        notes = tuple(n for n in (wanted_text(f, units), f.why, *f.rules, *ranges) if n)
        said = headline(f, group.subjects)
        rows.append(Row(said, margin_text(f, units), notes, f, group.subjects))
    return rows


@router.get("/workings/{check}/{subject}", response_class=HTMLResponse, responses=SAID)
def workings(
    request: Request, check: Check, subject: Subject, state: str = "finished"
) -> HTMLResponse:
    """The steps behind a finding, each before the step that uses it."""
    frame = framed(request, state)
    examination = frame.examination()
    try:
        finding = examination.finding(check, subject)
    except KeyError:
        raise HTTPException(404, f"no finding {check} at {subject}") from None
    units = frame.opened.build.head.units
    steps = frame.opened.workings(examination, finding)
    numbers = {step.address: number for number, step in enumerate(steps, 1)}
    look_up = _look_up(frame, finding)
    return frame.page(
        "workings.html.j2",
        finding=finding,
        said=headline(finding),
        cures=curable(frame.opened.build, finding) and examination.state.name == "finished",
        margin=margin_text(finding, units),
        aims=_aims(finding),
        do=do_of(finding) if finding.waits_for and not look_up else finding.do,
        look_up=look_up,
        usual=offered(frame, examination).get(check) if finding.stopping else None,
        extras=[x for x in (
            wanted_text(finding, units), finding.why, finding.pose, why_half(steps)
        ) if x],
        steps=[_step(frame, step, step_words(step, numbers)) for step in steps],
        unknowns=[
            (
                percent(u.share), car_name(u.input, frame.opened.build.parts),
                _measured_at(frame, u.input),
            )
            for u in finding.unknowns
        ],
        guesses=_guesses(frame, finding),
        both=both(finding).removeprefix("; "),
        wants=wanting(examination, finding),
        ranges=[range_text(note, examination, units) for note in finding.outside_range],
        others=_others(examination.findings, finding),
    )


def _look_up(frame: Frame, finding: Finding) -> tuple[str, str, str] | None:
    """The guess that is looked up before anything is bought: how much of the doubt, what, where."""
    most = looked_up_first(finding) if finding.stopping else None
    if most is None:
        return None
    named = car_name(most.input, frame.opened.build.parts)
    return percent(most.share), named, _measured_at(frame, most.input)


def _guesses(frame: Frame, finding: Finding) -> list[tuple[str, str, str]]:
    """The guesses for which a finding waits, what its doubt comes from first: words, its share of
    the doubt where it is worth a line, and where a better word on it is typed."""
    if finding.verdict is Verdict.ENOUGH:
        return []
    shares = {u.input: percent(u.share) for u in finding.unknowns}
    parts = frame.opened.build.parts
    return [
        (car_name(one, parts), shares.get(one, ""), _measured_at(frame, one))
        for one in finding.guesses
    ]


def _step(frame: Frame, step: Step, said: StepWords) -> dict[str, Any]:
    """A step, its inputs with the page where each fact is stated."""
    rows = [(row, _stated_at(row.address) if not row.step else "") for row in said.rows]
    return {"step": step, "rows": rows, "told": said.told}


def _stated_at(address: str) -> str:
    """The address of a fact that somebody states; empty for what is worked out."""
    plain = address.removeprefix("base:")
    return plain if declaration(plain) is not None else ""


def _measured_at(frame: Frame, address: str) -> str:
    """Where a reading of it is typed in; empty where none can be."""
    plain = _stated_at(address)
    if plain.endswith(".design_match"):  # nobody reads a ratio: the diameter takes its place
        plain = plain.replace(".design_match", ".overall_diameter")
    state = frame.desk.state("as found" if plain != address else frame.state)
    found = fact_at(frame.opened, plain, state) if plain else None
    return noted_at(frame.opened, found) if found is not None else ""


def _aims(finding: Finding) -> list[tuple[str, str]]:
    """What the owner wished that the finding is held to, with where each is changed."""
    if finding.verdict is Verdict.ENOUGH or "another aim" not in finding.do:
        return []
    angles = ("goal.camber_", "goal.toe_")
    return [(plain_name(a), a) for a in sorted(finding.facts) if a.startswith(angles)]


def _others(findings: tuple[Finding, ...], finding: Finding) -> list[tuple[str, str]]:
    """The same check at its other places."""
    return [
        (f.subject, f.place)
        for f in findings
        if f.check == finding.check and f.subject != finding.subject
    ]
