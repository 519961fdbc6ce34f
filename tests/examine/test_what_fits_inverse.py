"""What must change so that a tyre fits: every answer is enough when it is made."""

from __future__ import annotations

import json
from pathlib import Path

import fitting
import numpy as np
import pytest

from drybuild.build import ChangeRefused
from drybuild.cli import main
from drybuild.examine.catalogue import MustFitAnswer
from drybuild.examine.catalogue.ladders import coarse, make_ladders, overlap, permitted
from drybuild.examine.catalogue.search import _of_folder, camber_today
from drybuild.examine.catalogue.tries import holds
from drybuild.examine.fixes import RANK
from drybuild.findings import Verdict
from drybuild.show.what_fits import must_fit_text

measured_by_hand = fitting.measured_by_hand

ARCH = "corners.arch_bump_gap"


@pytest.fixture(scope="module")
def planned_tyre() -> MustFitAnswer:
    """The 245 of the demo's plan, which touches the arch at full bump."""
    found: MustFitAnswer = measured_by_hand().must_fit("sallow_245_40", draws=1024)
    return found


def test_the_contact_is_found(planned_tyre: MustFitAnswer) -> None:
    finding = planned_tyre.with_tyre.finding(ARCH, "rear.left")
    assert finding.verdict is Verdict.SHORT
    assert finding in [f for group in planned_tyre.groups for f in group.findings]
    assert planned_tyre.joint < 0.05


def test_each_answer_is_enough_when_it_is_made(planned_tyre: MustFitAnswer) -> None:
    """Made again from the Changes alone, and examined with other draws than it was found with."""
    opened = measured_by_hand()
    was = {(f.check, f.subject): f for f in planned_tyre.with_tyre.findings}
    count = 0
    for group in planned_tyre.groups:
        for answer in group.answers:
            known = answer.examination.state.build
            start = planned_tyre.with_tyre.state
            assert set(start.build.parts) == set(known.parts)
            after = opened.examine(start.after(answer.changes), draws=1024)
            for finding in group.findings:
                now = after.finding(finding.check, finding.subject)
                assert holds(now), (finding.check, [s.name for s in answer.steps])
                if now.system == "corners":
                    assert now.verdict is Verdict.ENOUGH
                count += 1
            for now in after.findings:
                old = was.get((now.check, now.subject))
                if RANK[now.verdict] > (RANK[old.verdict] if old else 0):
                    assert holds(now), now.check
                    assert now.why, now.check
    assert count >= 4


def test_an_answer_is_the_smallest_of_its_kind(planned_tyre: MustFitAnswer) -> None:
    """One step less than a rolled edge that does is one that does not."""
    opened = measured_by_hand()
    arch = next(g for g in planned_tyre.groups if any(f.check == ARCH for f in g.findings))
    rolled = [a for a in arch.answers if a.steps[0].name == "the arch edge rolled"]
    assert len(rolled) == 1
    (step,) = rolled[0].steps
    assert step.to is not None
    # by hand: short by the median, and 2.33 standard deviations for 99 in 100
    finding = planned_tyre.with_tyre.finding(ARCH, "rear.left")
    assert finding.margin is not None
    deviation = (finding.margin.high - finding.margin.low) / 3.92
    needed = -finding.margin.median + 2.33 * float(np.hypot(deviation, 0.5e-3))
    assert needed - 1e-3 <= step.to <= needed + 2e-3
    less = [c for c in step.changes]
    smaller = [
        type(c)(c.kind, c.target, {**c.value, "is": f"{23 + step.to * 1e3 - 2:g} mm"}) for c in less
    ]
    after = opened.examine(planned_tyre.with_tyre.state.after(smaller), draws=1024)
    assert not holds(after.finding(ARCH, "rear.left"))


def test_the_ways_are_different_things(planned_tyre: MustFitAnswer) -> None:
    arch = next(g for g in planned_tyre.groups if any(f.check == ARCH for f in g.findings))
    names = [" and ".join(s.name for s in a.steps) for a in arch.answers]
    assert len(set(names)) == len(names)
    assert len(names) >= 3
    efforts = [a.effort for a in arch.answers]
    assert efforts == sorted(efforts)
    assert any("camber" in name for name in names)


def test_the_speed_reading_is_cured_apart(planned_tyre: MustFitAnswer) -> None:
    group = next(
        g for g in planned_tyre.groups if any(f.check == "law.speedometer_low" for f in g.findings)
    )
    assert all(f.check != ARCH for f in group.findings)
    assert "instrument" in group.answers[0].steps[0].name
    assert planned_tyre.together is not None
    for part in planned_tyre.groups:
        for finding in part.findings:
            found = planned_tyre.together.examination
            assert holds(found.finding(finding.check, finding.subject))
    assert planned_tyre.together.joint > 0.9


def test_a_tyre_that_nothing_makes_fit_says_what_is_left() -> None:
    found = measured_by_hand().must_fit("285/30 R18 93W", draws=256)
    assert found.candidate.wheel.origin.startswith("generated")
    assert found.candidate.rim_width >= permitted(found.candidate.tyre)[0] - 1e-6
    assert found.left
    text = must_fit_text(found, "metric")
    assert "Nothing tried here cures:" in text
    assert "do:" in text


def test_the_marking_of_the_planned_tyre_is_that_tyre_and_another_is_any() -> None:
    asked = measured_by_hand().must_fit("245/40 R17 91W", draws=64)
    assert asked.candidate.tyre.id == "sallow_245_40"
    assert not asked.moves.figures
    assert not asked.moves.margins
    was = {(f.check, f.subject): f.margin for f in asked.planned.findings}
    assert all(was[f.check, f.subject] == f.margin for f in asked.with_tyre.findings)
    assert "with Sallow Ridge" in must_fit_text(asked, "metric")
    other = measured_by_hand().must_fit("245/40 R17 95W XL", draws=64)
    assert other.candidate.tyre.origin.startswith("generated")
    assert "with any 245/40 R17 95W XL" in " ".join(must_fit_text(other, "metric").split())


def test_a_tyre_that_fits_needs_nothing() -> None:
    opened = measured_by_hand()
    found = opened.must_fit("plover_205_50", wheel="plover_16x6", draws=256)
    assert not found.groups
    assert not found.left
    assert found.together is None
    assert "nothing has to change" in must_fit_text(found, "us")


def test_ladders_go_up_in_small_steps_and_do_not_undo_each_other() -> None:
    opened = measured_by_hand()
    start = opened.state()
    wheel, tyre = _of_folder(start, "loft_17x85"), _of_folder(start, "sallow_245_40")
    now = camber_today(start, opened.registry, "rear", 2026)
    ladders, parts = make_ladders(start, "rear", wheel, tyre, now)
    by_name = {ladder.name: ladder for ladder in ladders}
    assert {"more offset", "less offset", "the arch edge rolled"} <= set(by_name)
    assert overlap(by_name["more offset"], by_name["less offset"])
    assert not overlap(by_name["more offset"], by_name["the arch edge rolled"])
    assert all(p.id not in start.build.parts for p in parts)
    for ladder in ladders:
        sizes = [step.size for step in ladder.steps]
        assert sizes == sorted(sizes), ladder.name
        assert not any(c.target.startswith("tyre.rear") for s in ladder.steps for c in s.changes)
    offsets = [s.to or 0.0 for s in by_name["more offset"].steps]
    assert offsets[0] == pytest.approx(0.031)
    assert np.allclose(np.diff(offsets), 1e-3)
    packers = next(lad for lad in ladders if lad.target == "bump_stop.rear")
    assert packers.steps[0].to == pytest.approx(2e-3)
    assert [s.size for s in coarse(packers.steps, 4)][-1] == packers.steps[-1].size


def test_a_packer_ends_the_travel_sooner_by_its_height_over_the_motion_ratio() -> None:
    opened = measured_by_hand()
    start = opened.state()
    wheel, tyre = _of_folder(start, "loft_17x85"), _of_folder(start, "sallow_245_40")
    ladders, parts = make_ladders(start, "rear", wheel, tyre, {})
    packers = next(lad for lad in ladders if lad.target == "bump_stop.rear")
    from drybuild.build.proposed import with_proposed

    known = with_proposed(start, parts)
    ten = next(s for s in packers.steps if s.to == pytest.approx(10e-3))
    travel = []
    for state in (known, known.after(ten.changes)):
        value = opened.examine(state, draws=256).evaluation.get("ride.full_bump.rear.left").value
        travel.append(float(np.median(value)))
    assert travel[0] - travel[1] == pytest.approx(10e-3 / 0.82, rel=0.05)


@pytest.mark.parametrize(
    ("tyre", "given", "said"),
    [
        ("245/40", {}, "metric passenger tyre"),
        ("245/40 R17", {"wheel": "no_such"}, "no wheel"),
        ("245/40 R18", {"wheel": "loft_17x85"}, "does not go on"),
        ("245/40 R17", {"rim_width": "wide"}, "rim width"),
    ],
)
def test_what_cannot_be_asked_is_refused(tyre: str, given: dict[str, str], said: str) -> None:
    with pytest.raises(ChangeRefused, match=said):
        measured_by_hand().must_fit(tyre, draws=64, **given)


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = str(measured_by_hand().build.root)
    asked = ["what-fits", folder, "--tyre", "sallow_245_40", "--must-fit", "--draws", "256"]
    page = tmp_path / "must.html"
    assert main([*asked, "--page", str(page)]) == 0
    said = capsys.readouterr().out
    assert "what must change" in said
    assert "the arch edge rolled" in said
    assert "Care:" in said
    assert "arch" in page.read_text(encoding="utf-8")
    assert main([*asked, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["groups"][0]["answers"][0]["changes"][0]["kind"] in ("fit", "set")
