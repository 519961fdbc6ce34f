"""What ``what-fits`` prints, and its page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

from drybuild.build.proposed import Proposed
from drybuild.examine.catalogue import (
    Answer,
    Candidate,
    Figure,
    Moves,
    MustFitAnswer,
    Offer,
    Step,
    WhatFits,
)
from drybuild.examine.naming import plain_list
from drybuild.findings import Finding, Verdict
from drybuild.findings.finding import RECALLED, RESTS_ON_ASSUMED
from drybuild.show.fit_window import STYLE, alike_words, window_svg
from drybuild.show.lines import listed, wrapped
from drybuild.show.sentences import grouped, headline, joint_text, margin_text, places
from drybuild.show.text import CAUTION, state_words
from drybuild.show.what_fits_table import row, table_html, table_lines
from drybuild.values import System, figures, show_number

MOST_OPEN = 6
GENERATED = "generated"
"""Begins the origin of what was drawn up, not found in a list: any tyre of that size."""
MM = 1e-3
HALF_MM = 0.5e-3
CLOSE = 0.25
"""A change whose band is narrower than this share of it is said alone, to two figures."""
DRAWN_UP = (
    "In the picture every wheel is drawn up from the first of the list. Its spokes and barrel are "
    "carried over as a guess, so that a wheel on which they were measured may be surer than its "
    "place here."
)
LOOK_UP = (
    "Generated wheels and sizes are drawn up, not found in a list: whether anybody makes them, and "
    "with which load index and speed symbol, is to be looked up."
)


BESIDE = (
    "“As planned”, or “plan”, is what the build plans; “now” is what it replaces, to hold the "
    "others against: no offer."
)
AS_PLANNED = " (as planned)"
OTHER_AXLE = {"front": "rear", "rear": "front"}


def what_fits_text(
    found: WhatFits, system: System, *, every: bool = False, table: bool = True
) -> str:
    """The ranked list: a line for each offer. every: all that is known of each below it.

    table: with the lines; a page has a table of its own.
    """
    planned, axle = found.planned, found.wanted.axle
    lines = wrapped(
        f"{planned.state.build.head.name} · what fits at the {axle}, "
        f"{state_words(planned.state.name)} · {len(found.field.candidates):,} looked through",
        2,
    )
    if found.field.apart:
        lines.append(f"  {found.field.apart:,} pairs left out: another diameter code")
    lines += wrapped(f"  this is the {axle} alone; the other end: --axle {OTHER_AXLE[axle]}", 2)
    lines += ["", *table_lines(_rows(found, system))] if table else []
    if found.as_planned is not None or found.as_found is not None:
        lines += ["", *wrapped(BESIDE, 2)]
    lines += ["", *_guessed_lines(found.offers), *_recalled_lines(found.offers)]
    if found.window is not None:
        tyre = f"with {found.window.tyre}, " if found.window.tyre else ""
        where = f"{tyre}at any {found.window.up} and offset the same"
        for said in alike_words(found.window, where):
            lines += wrapped(said, 2)
    if every:
        for number, offer in enumerate(found.offers, 1):
            lines += ["", *_offer_lines(number, offer, system)]
    else:
        lines += wrapped("What each moves against the plan, and what is not known: --all", 2)
    lines += ["", *wrapped(_counted(found.offers), 0)]
    if any(_is_generated(o.candidate) for o in found.offers):
        lines += wrapped(LOOK_UP, 0)
    lines += ["", *wrapped(CAUTION, 0)]
    return "\n".join(lines)


def _rows(found: WhatFits, system: System) -> list[tuple[str, ...]]:
    """What is planned where it is no offer, each offer, and what is replaced."""
    mine = found.as_planned
    same = mine.candidate if mine is not None else None
    rows = []
    if mine is not None and all(offer.candidate != same for offer in found.offers):
        rows.append(row("plan", _short_name(mine, system), mine, system))
    for n, offer in enumerate(found.offers, 1):
        name = _short_name(offer, system) + (AS_PLANNED if offer.candidate == same else "")
        rows.append(row(f"{n}", name, offer, system))
    if found.as_found is not None:
        rows.append(row("now", _short_name(found.as_found, system), found.as_found, system))
    return rows


def _short_name(offer: Offer, system: System) -> str:
    """A candidate as its row says it: the wheel, and the marking of its tyre."""
    wheel, tyre = candidate_words(offer.candidate, system).split(" with ", 1)
    marking = str(getattr(offer.candidate.tyre.part, "marking", tyre))
    beside = f", beside {offer.beside} inch at the other axle" if offer.beside is not None else ""
    return f"{wheel}; {'any ' if tyre.startswith('any ') else ''}{marking}{beside}"


def _counted(offers: Sequence[Offer]) -> str:
    draws = offers[0].examination.draws if offers else 0
    return (
        "Each was examined on the whole car. “In 100”: in how many of 100 cars every check that "
        "wheel or tyre bears on has its room at once, caliper to barrel and spokes among them, "
        f"counted in the same {draws:,} draws. A guess is counted as guessed; what nobody measured "
        "is not in it and is named."
    )


def _is_generated(candidate: Candidate) -> bool:
    return any(p.origin.startswith(GENERATED) for p in (candidate.wheel, candidate.tyre))


def candidate_words(candidate: Candidate, system: System) -> str:
    """A candidate in one line."""
    wheel = candidate.wheel.part.name or candidate.wheel.id
    if f"{candidate.offset * 1e3:g}" not in wheel:
        wheel += f", offset {_shown('length', candidate.offset, system)}"
    said = f"{wheel} with {_tyre_words(candidate.tyre)}"
    if candidate.spacer:
        said += f", spacer {_shown('length', candidate.spacer, system)}"
    if candidate.camber is not None:
        said += f", camber {_shown('angle', candidate.camber, system)}"
    return said


def _tyre_words(tyre: Proposed) -> str:
    marking = str(getattr(tyre.part, "marking", tyre.id))
    name = tyre.part.name
    if tyre.origin.startswith(GENERATED):
        return f"any {marking}"
    return f"{name}, {marking}" if name and name.split()[0] not in marking else marking


def _shown(kind: str, value: float, system: System) -> str:
    return show_number(kind, value, system)


def _offer_lines(number: int, offer: Offer, system: System) -> list[str]:
    lines = wrapped(f"{number:>3}  {candidate_words(offer.candidate, system)}", 5)
    clears = joint_text(offer.clears)
    short = ", ".join(dict.fromkeys(f.title for f in offer.short))
    guess = f", {len(grouped(offer.guessed))} of them by a guess" if offer.guessed else ""
    lines += wrapped(f"     SHORT: {short}", 5) if short else []
    if not any(f.chance is not None for f in offer.bearing):
        lines += wrapped("     as found: no Change touches what bears on it", 5)
    else:
        said = f"all checks at once {joint_text(offer.joint)}{guess}"
        lines += wrapped(f"     {said}; those of wheel, tyre and gaps alone {clears}", 5)
    if offer.beside is not None:
        lines.append(f"     beside wheels of {offer.beside} inch at the other axle")
    low, high = offer.offsets
    if high - low > 0.5e-3:
        ends = f"{_shown('length', low, system)} to {_shown('length', high, system)}"
        lines += wrapped(f"     offsets from {ends} do as well", 5)
    if offer.binds is not None:
        lines += wrapped(
            f"     binds: {headline(offer.binds)}: {margin_text(offer.binds, system)}", 5
        )
    lines += _open_lines(offer)
    lines += _against(offer.moves, system, 5)
    if offer.unmeasured:
        lines += wrapped(f"     not known: {_once(offer.unmeasured)}", 5)
    for extra in offer.candidate.extras:
        lines.append(f"     to buy with it: {extra}")
    return lines


def _open_lines(offer: Offer) -> list[str]:
    """Findings short or unsure, the binding one left out, grouped by check."""
    binds = offer.binds.check if offer.binds is not None else ""
    lines: list[str] = []
    for verdict, reason in (
        (Verdict.SHORT, ""), (Verdict.UNSURE, ""), (Verdict.UNSURE, RESTS_ON_ASSUMED),
    ):  # fmt: skip
        groups = grouped(
            f for f in offer.open
            if f.verdict is verdict and f.check != binds
            and (f.why == reason if reason else f.why not in (RESTS_ON_ASSUMED, RECALLED))
        )  # fmt: skip
        if groups:
            said = ", ".join(g.finding.title for g in groups[:MOST_OPEN])
            more = f" and {len(groups) - MOST_OPEN} more" if len(groups) > MOST_OPEN else ""
            label = f"{verdict}, {reason}" if reason else str(verdict)
            lines += wrapped(f"     {label}: {said}{more}", 5)
    return lines


def _recalled_lines(offers: Sequence[Offer]) -> list[str]:
    """Limits that nobody read, once for all the offers that they are unsure in."""
    where: dict[str, list[str]] = {}
    for number, offer in enumerate(offers, 1):
        titles = dict.fromkeys(f.title for f in offer.open if f.why == RECALLED)
        if titles:
            where.setdefault(", ".join(titles), []).append(str(number))
    return [
        row for titles, numbers in where.items()
        for row in wrapped(f"unsure in {listed(numbers)}, {RECALLED}: {titles}", 2)
    ]  # fmt: skip


def _guessed_lines(offers: Sequence[Offer]) -> list[str]:
    """Checks that a guess alone keeps open, once for all the offers that it does so in."""
    where: dict[str, list[str]] = {}
    for number, offer in enumerate(offers, 1):
        titles = dict.fromkeys(f.title for f in offer.guessed)
        if titles:
            where.setdefault(", ".join(titles), []).append(str(number))
    return [
        row for titles, numbers in where.items()
        for row in wrapped(f"unsure in {listed(numbers)}, {RESTS_ON_ASSUMED}: {titles}", 2)
    ]  # fmt: skip


def _once(addresses: Sequence[str]) -> str:
    """Facts in words, both sides said once."""
    merged = dict.fromkeys(a.replace(".left.", ".").replace(".right.", ".") for a in addresses)
    return plain_list(tuple(merged))


TITLES = " · "
"""Between titles of checks, some of which have commas of their own."""


@dataclass(frozen=True, slots=True)
class MovedLine:
    """A figure that moves, in words; or what some checks are now, and their titles."""

    said: str
    titles: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.said}: {TITLES.join(self.titles)}" if self.titles else self.said


def _several(subjects: Sequence[str]) -> str:
    """Where a check turned at more than one place; so what a list names can be counted."""
    if len(subjects) < 2:
        return ""
    axles = {s.partition(".")[0] for s in subjects}
    return f", {'both sides' if len(axles) == 1 and len(subjects) == 2 else places(subjects)}"


def moved_lines(moves: Moves, system: System) -> tuple[MovedLine, ...]:
    """What else moves, one thing after the other."""
    found = [MovedLine(_moved(f, system)) for f in (*moves.figures, *moves.margins)]
    for verdict in Verdict:
        where: dict[str, list[str]] = {}
        for turned in moves.turned:
            if turned.after is verdict:
                where.setdefault(turned.title, []).extend(turned.subjects)
        titles = tuple(f"{title}{_several(at)}" for title, at in where.items())
        if titles:
            found.append(MovedLine(f"now {verdict}", titles))
    return tuple(found)


def _against(moves: Moves, system: System, indent: int) -> list[str]:
    """What else moves: the figures in one line, then what the checks are now."""
    lines = moved_lines(moves, system)
    figures = "; ".join(line.said for line in lines if not line.titles)
    told = [f"against the plan: {figures}"] if figures else []
    told += [str(line) for line in lines if line.titles]
    return [row for said in told for row in wrapped(f"{' ' * indent}{said}", indent + 2)]


def moved_sentence(moves: Moves, system: System) -> str:
    """What else moves, as one says it: ``speed reading +1.1 %; arch gap −4 mm; …``."""
    return "; ".join(map(str, moved_lines(moves, system)))


def _moved(figure: Figure, system: System) -> str:
    sign = "+" if figure.change > 0 else ""
    kind = "fraction" if figure.share else figure.kind
    low, high = figure.low, figure.high
    comes_to = f", to about {show_number(kind, figure.after, system)}" if figure.to else ""
    if low is not None and high is not None and high - low > CLOSE * abs(figure.change):
        middle, least, most, label = figures(kind, figure.change, low, high, system)
        return f"{figure.what} {sign}{middle} {label} ({least} to {most}){comes_to}"
    size = float(f"{figure.change:.2g}")
    if kind == "angle":  # two figures of what is shown, in degrees
        size = math.radians(float(f"{math.degrees(figure.change):.2g}"))
    if kind == "length" and abs(size) >= HALF_MM:  # a gap is spoken of in whole millimetres
        size = math.copysign(MM * max(1, round(abs(size) / MM)), size)
    gaps = f", and {figure.also} more gap{'s' if figure.also > 1 else ''}" if figure.also else ""
    return f"{figure.what}{gaps} {sign}{show_number(kind, size, system)}{comes_to}"


def must_fit_text(found: MustFitAnswer, system: System) -> str:
    """What must change so that the tyre fits."""
    planned = found.planned
    lines = wrapped(
        f"{planned.state.build.head.name} · what must change so that "
        f"{candidate_words(found.candidate, system)} fits at the {found.asked.axle}",
        2,
    )
    lines += ["", f"with nothing else changed: {joint_text(found.joint)} all at once"]
    lines += _against(found.moves, system, 0)
    if not (found.groups or found.left):
        lines += ["", "nothing has to change for its size"]
    for group in found.groups:
        lines += ["", *_heading(group.findings, system)]
        lines.append("  one of these makes it enough, examined on the whole car:")
        for answer in group.answers:
            lines += _answer_lines(answer, system, "  · ")
    if found.left:
        lines += ["", "Nothing tried here cures:"]
        lines += _heading(found.left, system)
        for do in dict.fromkeys(f.do for f in found.left if f.do):
            lines += wrapped(f"  do: {do}", 6)
        if any(f.verdict is Verdict.UNSURE and f.settles_by != "a change" for f in found.left):
            lines += wrapped("  unsure is not short: measuring may settle it (drybuild measure)", 6)
    if found.unmeasured:
        facts = tuple(sorted({a for f in found.unmeasured for a in f.missing}))
        lines += ["", *wrapped(f"not known, so not judged: {_once(facts)}", 2)]
    if found.together is not None and len(found.groups) > 1:
        lines += ["", "All of it together:"]
        lines += _answer_lines(found.together, system, "  ")
    if found.together is not None:
        rest = ", as what is left above stays" if found.left else ""
        lines += ["", f"then {joint_text(found.together.joint)} all at once{rest}"]
    care = next((f.safety for g in found.groups for f in g.findings if f.safety), "")
    care = care or next((f.safety for f in found.left if f.safety), "")
    if care:
        lines += ["", *wrapped(f"Care: {care}", 6)]
    if _is_generated(found.candidate):
        lines += ["", *wrapped(LOOK_UP, 0)]
    lines += ["", *wrapped(CAUTION, 0)]
    return "\n".join(lines)


def _heading(findings: Sequence[Finding], system: System) -> list[str]:
    lines: list[str] = []
    for group in grouped(findings):
        said = f"{headline(group.finding, group.subjects)}: {margin_text(group.finding, system)}"
        lines += wrapped(said, 2)
    return lines


def _answer_lines(answer: Answer, system: System, bullet: str) -> list[str]:
    said = " and ".join(step_words(step, system) for step in answer.steps)
    lines = wrapped(f"{bullet}{said}", len(bullet))
    for note in dict.fromkeys(answer.notes):
        lines += wrapped(f"{' ' * len(bullet)}{note}", len(bullet))
    return lines


def step_words(step: Step, system: System) -> str:
    """A step as one says it: ``more offset: 38 mm (8 mm more)``."""
    if step.to is None:
        return f"{step.name}: {step.said}"
    said = f"{step.name}: {show_number(step.kind, step.to, system)}"
    if step.by is None or step.by == step.to:
        return said
    word = "more" if step.by > 0 else "less"
    return f"{said} ({show_number(step.kind, abs(step.by), system)} {word})"


_PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>{title}</title>
<style>
:root {{ --sheet:#fffdf7; --ink:#26343b; color-scheme:light dark; }}
@media screen and (prefers-color-scheme:dark) {{ :root {{ --sheet:#242d31; --ink:#e9e6da; }} }}
body {{ margin:0; background:var(--sheet); color:var(--ink);
  font:16px/1.5 "Source Sans 3","Noto Sans","DejaVu Sans",sans-serif; }}
main {{ max-width:62rem; margin:0 auto; padding:1.2rem 1rem 3rem; }}
h1 {{ font-size:1.5rem; margin:0; }} h2 {{ font-size:1.1rem; margin:1.8rem 0 .5rem; }}
pre {{ font:13px/1.45 "DejaVu Sans Mono",monospace; white-space:pre-wrap; }}
table {{ border-collapse:collapse; width:100%; margin:1rem 0; font-size:.95rem; }}
td, th {{ text-align:left; vertical-align:top; padding:.3rem .7rem .3rem 0;
  border-bottom:1px solid; }}
figure {{ margin:.6rem 0; }} svg {{ max-width:100%; height:auto; display:block; }}
@media screen and (max-width:40rem) {{ thead {{ display:none; }}
  td {{ display:block; border:0; padding:.1rem 0; }} tr {{ display:block; padding:.5rem 0;
  border-bottom:1px solid; }} td[data-head]:not([data-head=""])::before {{
  content:attr(data-head) ": "; opacity:.75; }}
  figure, pre {{ overflow-x:auto; }} svg {{ min-width:44rem; }}
  pre {{ white-space:pre; }} }}
{style}
@media print {{ :root {{ --sheet:#fff; --ink:#000; }} main {{ padding:0; }}
  figure {{ break-inside:avoid; }} }}
</style>
</head>
<body>
<main>
<h1>{title}</h1>
<p>{scenario}</p>
{figure}
<h2>{heading}</h2>
<pre>{words}</pre>
</main>
</body>
</html>
"""


def what_fits_page(found: WhatFits, system: System = "metric") -> str:
    """The page as text: the window and the list."""
    head = found.planned.state.build.head
    figure = table_html(_rows(found, system))
    if found.window is not None:
        figure += f"<figure>{window_svg(found.window, system)}</figure>"
        said = [DRAWN_UP, *alike_words(found.window)]
        figure += "".join(f"<p>{escape(words)}</p>" for words in said)
    return _PAGE.format(
        title=escape(f"{head.name}: what fits at the {found.wanted.axle}"), style=STYLE,
        scenario=escape(head.scenario), figure=figure, heading="Each of them, best first",
        words=escape(what_fits_text(found, system, every=True, table=False)),
    )  # fmt: skip


def must_fit_page(found: MustFitAnswer, system: System = "metric") -> str:
    """The page of what must change."""
    head = found.planned.state.build.head
    return _PAGE.format(
        title=escape(f"{head.name}: a tyre that must fit"), style=STYLE, figure="",
        scenario=escape(head.scenario), heading="What must change",
        words=escape(must_fit_text(found, system)),
    )  # fmt: skip


def write(path: Path, text: str) -> None:
    """Write a page."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
