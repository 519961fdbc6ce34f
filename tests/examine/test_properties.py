"""Properties that hold on the real registry and the demo build, whatever the numbers are."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import drybuild
from drybuild.build import Change, ChangeRefused, read_build
from drybuild.build.declared import declared_addresses, field_kind
from drybuild.build.drawn import DrawnFacts
from drybuild.examine.examination import Examination, evaluate, examine_state
from drybuild.findings import Fact
from drybuild.findings.finding import assess, margins
from drybuild.systems import registry
from drybuild.values import Draws, Value, written

DEMO = Path(__file__).parents[2] / "examples" / "plover"
N = 512


@pytest.fixture(scope="module")
def finished() -> Examination:
    return drybuild.open_build(DEMO).examine("finished", draws=N)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(DEMO, tmp_path / "car")
    return tmp_path / "car"


def examined(folder: Path, **more: Any) -> Examination:
    car = drybuild.open_build(folder)
    return examine_state(car.state("finished"), car.registry, draws=N, **more)


def edit(path: Path, change: Callable[[str], str]) -> None:
    text = path.read_text(encoding="utf-8")
    assert change(text) != text
    path.write_text(change(text), encoding="utf-8")


def bare(examination: Examination) -> list[Any]:
    return [
        (f.check, f.subject, f.verdict, f.margin, f.slack, f.chance, f.unknowns, f.armed, f.missing)
        for f in examination.findings
    ]


# ---- adding an input moves no other finding


def test_a_part_that_nothing_uses_moves_nothing(folder, finished):
    (folder / "parts" / "a_first.toml").write_text(
        'format = 1\n[part.aa_spare]\nkind = "wheel"\noffset = "20 ± 3 mm"\nmass = "9 ± 1 kg"\n',
        encoding="utf-8",
    )
    assert bare(examined(folder)) == bare(finished)


def test_a_fact_that_no_check_asks_for_moves_nothing(folder, finished):
    asked = {
        address
        for check in finished.evaluation.registry.checks.values()
        for f in finished.findings
        if f.check == check.id
        for address in finished.evaluation.asked(check, f.subject)
    }
    stated = finished.state.build.stated
    free = [
        a for a, d in declared_addresses().items()
        if a.startswith(("car.", "engine.")) and a.count(".") == 1 and a not in asked
        and a not in stated and field_kind(d.field) == "length"
    ]  # fmt: skip
    for address in free[:3]:
        table, name = address.split(".")
        edit(folder / "car.toml", lambda t, table=table, name=name: t.replace(
            f"[{table}]\n", f'[{table}]\n{name} = "100 ± 20 mm"\n', 1))  # fmt: skip
    blend = '\n[blend.third]\nused = false\nethanol = "20 ± 9 %"\n'
    edit(folder / "build.toml", lambda t: t + blend)
    after = {(f.check, f.subject): f for f in examined(folder).findings}
    for f in finished.findings:
        again = after[f.check, f.subject]
        assert (again.margin, again.verdict) == (f.margin, f.verdict), f.check


def test_a_new_fact_moves_only_the_findings_that_rest_on_it(folder, finished):
    """One input is widened: every finding that does not rest on it stays bit for bit."""
    edit(folder / "car.toml", lambda t: t.replace('"480 ± 12 mm"', '"480 ± 40 mm"'))
    after = {(f.check, f.subject): f for f in examined(folder).findings}
    moved = set()
    for f in finished.findings:
        again = after[f.check, f.subject]
        if (again.margin, again.chance) != (f.margin, f.chance):
            moved.add((f.check, f.subject))
            assert {"car.cg_height", "base:car.cg_height"} & f.facts, f.check
    assert moved


# ---- the order of files and tables


def test_findings_do_not_depend_on_the_order_of_files_and_tables(folder, finished):
    """Parts are dealt out to files named the other way round, and tables of car.toml turned."""
    for path in sorted((folder / "parts").glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        head, *blocks = re.split(r"(?m)^(?=\[part\.[a-z0-9_]+\]$)", text)
        path.unlink()
        name = "z" + path.stem[::-1]
        (folder / "parts" / f"{name}.toml").write_text(
            head + "\n".join(reversed(blocks)), encoding="utf-8"
        )
    edit(folder / "car.toml", _turned)
    assert bare(examined(folder)) == bare(finished)


def _turned(text: str) -> str:
    head, *tables = re.split(r"(?m)^(?=\[[a-z])", text)
    return head + "".join(part.rstrip() + "\n\n" for part in reversed(tables))


# ---- US units


def test_the_same_build_in_us_units_gives_the_same_findings(folder, finished):
    """Every figure that has a US spelling is written in it: findings agree within its rounding."""
    count = 0
    for path in (*folder.glob("*.toml"), *(folder / "parts").glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        for metric, (us, size) in US.items():
            pattern = rf'"({_NUMBER})(?: ± ({_NUMBER}))? {re.escape(metric)}"'
            text, n = re.subn(pattern, lambda m, us=us, size=size: _in_us(m, us, size), text)
            count += n
        path.write_text(text, encoding="utf-8")
    assert count > 200
    after = {(f.check, f.subject): f for f in examined(folder).findings}
    assert after.keys() == {(f.check, f.subject) for f in finished.findings}
    for f in finished.findings:
        again = after[f.check, f.subject]
        assert again.verdict == f.verdict, (f.check, f.subject)
        if f.margin is not None and again.margin is not None:
            span = max(abs(f.margin.high - f.margin.low), abs(f.margin.median), 1e-9)
            assert again.margin.median == pytest.approx(f.margin.median, abs=1e-4 * span), f.check
            assert again.margin.low == pytest.approx(f.margin.low, abs=1e-3 * span), f.check


_NUMBER = r"-?\d+(?:\.\d+)?"
US = {
    "mm": ("in", 25.4),
    "kg": ("lb", 0.45359237),
    "bar gauge": ("psi gauge", 0.0689475729),
    "N/mm": ("lbf/in", 0.1751268352),
    "m/s": ("ft/s", 0.3048),
}
"""Metric unit → the US one and how many of the metric it holds (NIST SP 811, appendix B)."""


def _in_us(found: re.Match[str], us: str, size: float) -> str:
    number, doubt = found.groups()
    width = f" ± {float(doubt) / size:.9f}" if doubt else ""
    return f'"{float(number) / size:.9f}{width} {us}"'


# ---- more doubt


def _monotone_inputs(finished: Examination) -> list[tuple[str, str, str]]:
    """(check, subject, address) of decided findings short by a margin that is monotone in it."""
    found = []
    for f in finished.findings:
        if f.verdict != "short" or f.kind == "match" or f.margin is None:
            continue
        for unknown in f.unknowns[:3]:
            if not unknown.input.startswith("base:"):
                found.append((f.check, f.subject, unknown.input))
    return found


def test_more_doubt_about_an_input_never_turns_short_into_enough(finished):
    """Widened about its fixed median, where the margin is monotone in it, which is looked at."""
    car = drybuild.open_build(DEMO)
    known, looked_at = registry(), 0
    for check, subject, address in _monotone_inputs(finished):
        fact = finished.evaluation.facts.fact(address)
        declared = declared_addresses().get(address)
        if declared is None or not isinstance(fact, Fact) or field_kind(declared.field) is None:
            continue
        kind = field_kind(declared.field)
        column = np.asarray(fact.value)
        if column.shape != (N,):
            continue
        middle, half = float(np.median(column)), 2 * float(np.std(column))
        try:
            rows = [
                _margin(car, known, check, subject, address,
                        {"is": written(kind, middle + shift * half), "exact": True})
                for shift in (-4, -2, 0, 2, 4)
            ]  # fmt: skip
        except ChangeRefused:  # an end is beyond what the quantity can be: its median would move
            continue
        steps = np.diff([np.median(row) for row in rows])
        if not (np.all(steps >= 0) or np.all(steps <= 0)) or np.isnan(steps).any():
            continue
        looked_at += 1
        for wide in (1, 2, 4):
            width = "temperature_difference" if kind == "temperature" else kind
            raw = {"is": written(kind, middle), "plus_minus": written(width, wide * half)}
            row = _margin(car, known, check, subject, address, raw)
            chance = float(np.mean(row >= 0))
            assert chance < known.checks[check].consequence.wanted_chance, (check, address, wide)
    assert looked_at >= 8


def _margin(car, known, check, subject, address, raw):
    state = car.state("finished").after([Change("set", address, raw)], "draft:wider")
    evaluation = evaluate(state, known, N, 2026)
    with np.errstate(all="ignore"):
        item = evaluation.check(known.checks[check], subject)
    assert item is not None
    return margins([item], N)[0]


# ---- verdicts and the seed


def test_no_verdict_of_the_demo_flickers_with_the_seed():
    """Twenty seeds at the usual number of draws."""
    car = drybuild.open_build(DEMO)
    state = car.state("finished")
    seen: dict[tuple[str, str], set[str]] = {}
    for seed in range(20):
        for f in examine_state(state, car.registry, seed=seed, unknowns=False).findings:
            seen.setdefault((f.check, f.subject), set()).add(str(f.verdict))
    flicker = {key: said for key, said in seen.items() if len(said) > 1}
    assert not flicker


# ---- the joint chance


def test_joint_chances_are_counted_and_nested(finished):
    """Of no use more than of the least of its findings, and none more than of what it needs."""
    chances = {u.use: u.joint_chance for u in finished.uses}
    for use, needs in (("drive", "creep"), ("creep", "run"), ("compete", "full load")):
        if chances[use] is not None and chances[needs] is not None:
            assert chances[use] <= chances[needs]
    assert finished.joint_chance <= min(
        float(np.mean(row >= 0))
        for f, row in zip(finished.findings, finished.margins, strict=True)
        if f.armed and f.margin is not None
    )
    for system, share in finished.joint_by_system.items():
        mine = [
            float(np.mean(row >= 0))
            for f, row in zip(finished.findings, finished.margins, strict=True)
            if f.system == system and f.margin is not None
        ]
        assert share <= min(mine) + 1e-12


# ---- the same part on both sides, and groups


def test_one_part_on_both_sides_shares_its_figure_and_its_column(finished):
    facts = finished.evaluation.facts
    left, right = facts.fact("wheel.rear.left.offset"), facts.fact("wheel.rear.right.offset")
    assert np.array_equal(left.value, right.value)
    assert left.columns == right.columns


def test_a_side_of_its_own_leaves_the_other_side_alone(folder, finished):
    edit(folder / "car.toml", lambda t: t + '\n[corner.rear.left]\ncamber = "-0.2 ± 0.1 deg"\n')
    build = read_build(folder)
    state = build.base_state
    facts = DrawnFacts(state, Draws(N, 2026))
    left, right = (facts.fact(f"corner.rear.{side}.camber") for side in ("left", "right"))
    assert np.degrees(np.median(left.value)) == pytest.approx(-0.2, abs=0.01)
    was = DrawnFacts(finished.state.build.base_state, Draws(N, 2026))
    assert np.array_equal(right.value, was.fact("corner.rear.right.camber").value)
    assert isinstance(build.stated["corner.rear.left.camber"].value, Value)


def test_a_set_on_a_group_is_a_set_on_each(finished):
    state = finished.state
    group = state.after([Change("set", "corner.rear.camber", "-2 deg")])
    each = state.after([
        Change("set", "corner.rear.left.camber", "-2 deg"),
        Change("set", "corner.rear.right.camber", "-2 deg"),
    ])  # fmt: skip
    assert group.settings == each.settings


def test_assessing_twice_says_the_same(finished):
    state = finished.state
    again = evaluate(state, finished.evaluation.registry, N, 2026)
    raw = [again.check(again.registry.checks[f.check], f.subject) for f in finished.findings]
    found = assess([r for r in raw if r is not None], margins([r for r in raw if r is not None], N))
    assert [f.margin for f in found] == [f.margin for f in finished.findings]
