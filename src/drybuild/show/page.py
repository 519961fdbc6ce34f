"""One self-contained HTML page of an examination: the verdict, the uses, drawings and plots."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path
from typing import Any

from drybuild.examine import Examination, Measurement
from drybuild.findings import Verdict
from drybuild.show.charts import Chart, PageExtraMissing, charts
from drybuild.show.section import corner_section, draw_section
from drybuild.show.sentences import (
    by_weight,
    grouped,
    headline,
    joint_text,
    margin_text,
    measurement_text,
    stopping,
    use_reason,
)
from drybuild.show.text import CAUTION
from drybuild.values import System

FIRST_STOPS = 2


def write_page(
    path: Path,
    examination: Examination,
    now: Examination,
    measurements: tuple[Measurement, ...],
    *,
    system: System,
) -> None:
    """Write the page. Raises PageExtraMissing without the drawing libraries."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(page(examination, now, measurements, system=system), encoding="utf-8")


def page(
    examination: Examination,
    now: Examination,
    measurements: tuple[Measurement, ...],
    *,
    system: System = "metric",
) -> str:
    """The page as text."""
    try:
        from jinja2 import Environment, PackageLoader, StrictUndefined
    except ImportError:
        raise PageExtraMissing(
            'the page needs its template library: pip install "drybuild[page]"'
        ) from None
    environment = Environment(
        loader=PackageLoader("drybuild.show"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    template = environment.get_template("page.html.j2")
    return template.render(**_content(examination, now, measurements, system))


def _content(
    examination: Examination,
    now: Examination,
    measurements: tuple[Measurement, ...],
    system: System,
) -> dict[str, Any]:
    state = examination.state
    heavy = grouped(stopping(examination))[:FIRST_STOPS]
    drawn: list[Chart] = charts(examination)
    return {
        "name": state.build.head.name,
        "scenario": state.build.head.scenario,
        "state": state.name,
        "when": "today" if examination.is_present else "when finished",
        "uses": [(u, use_reason(u)) for u in examination.uses],
        "now_allowed": [u.use for u in now.uses if u.allowed],
        "joint": joint_text(examination.joint_chance),
        "stops": [
            (g.finding, headline(g.finding, g.subjects), margin_text(g.finding, system), "")
            for g in heavy
        ],
        "measure": [(measurement_text(m), m.how) for m in measurements[:1]],
        "sections": _sections(examination, system),
        "charts": drawn,
        "groups": _groups(examination, system),
        "owed": {o.record: o for u in examination.uses for o in u.records_owed}.values(),
        "counts": [(examination.counts[v], str(v)) for v in Verdict],
        "caution": CAUTION,
        "tool": version("drybuild"),
        "fingerprint": state.build.inputs_hash,
        "draws": examination.draws,
        "seed": examination.seed,
    }


def _sections(examination: Examination, system: System) -> list[tuple[str, str]]:
    """One drawing an axle: the side whose tightest gap is the tightest."""
    found = []
    for axle in ("front", "rear"):
        sides = [corner_section(examination, f"{axle}.{side}") for side in ("left", "right")]
        known = [s for s in sides if s is not None]
        if known:
            tightest = min(known, key=_tightest)
            found.append((tightest.title, draw_section(tightest, system)))
    return found


def _tightest(section: Any) -> float:
    return min((g.finding.margin.median for g in section.gaps if g.finding.margin), default=1.0)


def _groups(examination: Examination, system: System) -> list[tuple[str, list[tuple[Any, ...]]]]:
    groups = []
    for verdict in (Verdict.SHORT, Verdict.UNMEASURED, Verdict.UNSURE, Verdict.ENOUGH):
        chosen = sorted((f for f in examination.findings if f.verdict is verdict), key=by_weight)
        rows = [(f, headline(f), margin_text(f, system)) for f in chosen]
        groups.append((str(verdict), rows))
    return groups
