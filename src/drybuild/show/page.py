"""One self-contained HTML page of an examination: the verdict, the uses, drawings and plots."""

from __future__ import annotations

from collections.abc import Iterable
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from drybuild.examine import Examination, Measurement
from drybuild.findings import AXLES, Finding
from drybuild.show.charts import Chart, PageExtraMissing, charts
from drybuild.show.charts_travel import travel_charts
from drybuild.show.section import Section, corner_section, frame_of, gap_words
from drybuild.show.section_drawing import draw_section
from drybuild.show.sentences import (
    free_text,
    headline,
    joint_of,
    joint_words,
    margin_text,
    range_text,
    use_reason,
    wanted_text,
)
from drybuild.show.swept import swept_drawings
from drybuild.show.text import (
    CAUTION,
    OF_100,
    ORDER,
    RULE_IDS,
    alike,
    as_counted,
    counts_text,
    first_items,
    records_owed,
    state_words,
    title_text,
    today_text,
    unchanged,
)
from drybuild.show.travel import corner_travel, draw_travel
from drybuild.values import System

if TYPE_CHECKING:
    from jinja2 import Environment

LEADS = ("do", "care", "try", "how", "then", "when", "which")
"""Words that begin a line of what to do first, said in bold."""


def write_page(
    path: Path,
    examination: Examination,
    now: Examination,
    measurements: tuple[Measurement, ...],
    *,
    system: System,
    folder: str = "DIR",
    notes: Iterable[str] = (),
) -> None:
    """Write the page. Raises PageExtraMissing without the drawing libraries."""
    text = page(examination, now, measurements, system=system, folder=folder, notes=notes)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


def page(
    examination: Examination,
    now: Examination,
    measurements: tuple[Measurement, ...],
    *,
    system: System = "metric",
    folder: str = "DIR",
    notes: Iterable[str] = (),
) -> str:
    """The page as text. folder: as the reader named it; notes: what must be said beside it."""
    template = templates().get_template("page.html.j2")
    return template.render(**_content(examination, now, measurements, system, folder, notes))


def templates() -> Environment:
    """The templates of all pages: every text is escaped, and what is not given is an error.

    Raises PageExtraMissing without the template library.
    """
    try:
        from jinja2 import Environment, PackageLoader, StrictUndefined
    except ImportError:
        raise PageExtraMissing(
            'the page needs its template library: pip install "drybuild[page]"'
        ) from None
    return Environment(
        loader=PackageLoader("drybuild.show"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip


def _content(
    examination: Examination,
    now: Examination,
    measurements: tuple[Measurement, ...],
    system: System,
    folder: str,
    notes: Iterable[str],
) -> dict[str, Any]:
    state = examination.state
    drawn: list[Chart] = charts(examination, system)
    return {
        "name": state.build.head.name,
        "scenario": state.build.head.scenario,
        "title": title_text(examination).removeprefix(f"{state.build.head.name} · "),
        "planned": not examination.is_present,
        "when": state_words(state.name),
        "uses": [(u, use_reason(u) or free_text(u)) for u in examination.uses],
        "today": today_text(now),
        "joint": joint_words(joint_of(examination)) if not unchanged(examination) else None,
        "first": [_item(label, words) for label, words in first_items(
            examination, measurements, system, folder, listed=True
        )],
        "sections": _sections(examination, system),
        "swept": swept_drawings(examination, system),
        "travels": _travels(examination, system),
        "travel_charts": travel_charts(examination, system),
        "charts": drawn,
        "groups": _groups(examination, system),
        "owed": records_owed(examination),
        "counts": counts_text(examination),
        "of_100": OF_100,
        "rule_ids": RULE_IDS if any(f.rules for f in examination.findings) else "",
        "notes": list(notes),
        "caution": CAUTION,
        "tool": version("drybuild"),
        "fingerprint": state.inputs_hash,
        "draws": examination.draws,
        "seed": examination.seed,
    }  # fmt: skip


def _item(label: str, words: list[str]) -> tuple[str, list[tuple[str, str]]]:
    """A thing to do first: its label, and lines with the word that each begins with, if any."""
    lines = []
    for line in words:
        lead, colon, rest = line.partition(": ")
        lines.append((lead, rest) if colon and lead in LEADS else ("", line))
    return label, lines


def _sections(
    examination: Examination, system: System
) -> list[tuple[str, str, list[tuple[str, str, str, str]]]]:
    """One drawing an axle, of the side whose gaps are tightest: title, SVG, and a row a gap."""
    chosen: list[Section] = []
    for axle in ("front", "rear"):
        sides = [corner_section(examination, f"{axle}.{side}") for side in ("left", "right")]
        known = [s for s in sides if s is not None]
        if known:
            chosen.append(min(known, key=_tightest))
    if not chosen:
        return []
    frame = frame_of(chosen)
    return [
        (
            s.title,
            draw_section(s, system, frame),
            [(g.letter, g.name, gap_words(g, system), str(g.finding.verdict)) for g in s.gaps],
        )
        for s in chosen
    ]


def _travels(examination: Examination, system: System) -> list[tuple[str, str, str]]:
    """The left corner of each axle from the front: title, SVG and where its angles are from."""
    known = [corner_travel(examination, f"{axle}.left") for axle in AXLES]
    return [
        (f"{t.corner.replace('.', ' ')}, from the front", draw_travel(t, system), t.by)
        for t in known
        if t is not None
    ]


def _tightest(section: Section) -> float:
    return min((g.finding.margin.median for g in section.gaps if g.finding.margin), default=1.0)


def _groups(
    examination: Examination, system: System
) -> list[tuple[str, str, list[tuple[Finding, str, str, list[str]]]]]:
    """Verdict, number of findings, and rows: what reads alike but for its place stands together."""
    groups = []
    for verdict in ORDER:
        mine = (f for f in examination.findings if f.verdict is verdict)
        chosen = sorted(mine, key=lambda f: f.weight)
        rows = []
        for group in alike(chosen, examination, system):
            f = group.finding
            ranges = [range_text(note, examination, system) for note in f.outside_range]
            notes = [n for n in (wanted_text(f, system), f.why, *f.rules, *ranges) if n]
            rows.append((f, headline(f, group.subjects), margin_text(f, system), notes))
        groups.append((str(verdict), as_counted(chosen), rows))
    return groups
