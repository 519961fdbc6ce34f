"""What may not be passed in silence: runaway figures, absent alternatives, sums that fail."""

from __future__ import annotations

import numpy as np
import pytest
import toy

from drybuild.findings import PRACTICE, RegistrationError, Registry, Room, RuleSlack, Verdict

ROD = {"car.rod": "10 ± 1 mm"}
EXACT = {"car.rod": {"is": "0 mm", "exact": True}}


def room_of(slack, needs=None, **more) -> Room:
    room = Room("toy", title="Toy")
    room.check(
        "toy.x", title="x", kind="length", needs=needs or {"rod": "car.rod"}, slack=slack,
        consequence="damage", stops=("drive",), source=PRACTICE, **more,
    )  # fmt: skip
    return room


def one(room, texts, **more):
    (finding,) = toy.find(room, texts, **more)
    return finding


def test_a_margin_without_end_counts_as_short_and_is_said():
    f = one(room_of(lambda *, rod: np.where(rod > 0.010, np.inf, 1.0)), ROD)
    assert f.chance == pytest.approx(0.5, abs=0.01)
    assert any("50 in 100 have no answer and count as short" in n for n in f.outside_range)
    f = one(room_of(lambda *, rod: np.inf * np.ones_like(rod)), ROD)
    assert f.verdict is Verdict.SHORT


def test_an_exact_zero_below_the_line_is_unmeasured_not_a_crash():
    f = one(room_of(lambda *, rod: 1.0 / rod), EXACT)
    assert f.verdict is Verdict.UNMEASURED
    assert "division" in f.missing[0]


def test_a_result_that_fails_is_unmeasured_too():
    room = Room("toy", title="Toy")
    room.result("toy.turns", of=lambda *, rod: 1.0 / rod, kind="number",
                needs={"rod": "car.rod"}, source=PRACTICE)
    room.check("toy.x", title="x", kind="number", needs={"turns": "toy.turns"},
               slack=lambda *, turns: turns, consequence="damage", stops=(), source=PRACTICE)
    assert one(room, EXACT).verdict is Verdict.UNMEASURED


def test_one_absent_alternative_does_not_excuse_the_other():
    """The part of the first is not there; the second is simply not stated."""
    room = room_of(lambda *, rod: rod, {"rod": "car.hole|car.rod"})
    f = one(room, {}, absent=frozenset({"car.hole"}))
    assert f.verdict is Verdict.UNMEASURED
    assert toy.find(room, {}, absent=frozenset({"car.hole", "car.rod"})) == []


def test_what_is_missing_as_found_says_so():
    f = one(room_of(lambda *, rod: rod, {"rod": "base:car.hole|car.rod"}), {})
    assert f.missing == ("base:car.hole|base:car.rod",)


def test_an_armed_check_stays_armed_when_its_input_is_missing():
    f = one(room_of(lambda *, rod: rod), {}, changed=frozenset({"car.rod"}))
    assert f.armed
    assert f.stopping


def test_an_optional_input_that_is_missing_still_arms():
    needs = {"rod": "car.rod", "hole": "?car.hole"}
    room = room_of(lambda *, rod, hole: rod - (hole or 0.0), needs)
    assert one(room, ROD, changed=frozenset({"car.hole"})).armed


def test_a_later_alternative_arms_when_the_first_was_changed_away():
    room = room_of(lambda *, rod: rod, {"rod": "car.hole|car.rod"})
    assert one(room, ROD, changed=frozenset({"car.hole"})).armed


def test_the_car_as_found_arms_nothing():
    room = room_of(lambda *, rod: rod, {"rod": "base:car.rod"})
    assert not one(room, ROD, changed=frozenset({"car.rod"})).armed


def test_a_hard_range_blanks_what_lies_outside():
    room = Room("toy", title="Toy")
    room.result("toy.r", of=lambda *, rod: rod, kind="length", needs={"rod": "car.rod"},
                source=PRACTICE, valid={"rod": (0.0, 0.010)}, hard=True)
    room.check("toy.x", title="x", kind="length", needs={"r": "toy.r"}, slack=lambda *, r: r,
               consequence="damage", stops=(), source=PRACTICE)
    assert one(room, ROD).chance == pytest.approx(0.5, abs=0.01)


def test_a_hard_range_needs_a_result_that_can_be_blanked():
    with pytest.raises(RegistrationError, match="hard"):
        Room("toy", title="Toy").result(
            "toy.r", of=lambda *, rod: rod, kind="object", needs={"rod": "car.rod"},
            source=PRACTICE, valid={"rod": (0.0, 1.0)}, hard=True,
        )  # fmt: skip


def test_a_result_that_needs_itself_as_found_is_a_loop():
    """In the car as found, ``base:`` is the car itself."""
    room = Room("toy", title="Toy")
    room.result("toy.a", of=lambda *, a: a, kind="length", needs={"a": "base:toy.a"},
                source=PRACTICE)
    with pytest.raises(RegistrationError, match="loop"):
        Registry([room])


def test_law_counts_what_is_not_solved_against_the_car():
    room = Room("toy", title="Toy")
    room.check("toy.rule", title="rule", kind="length", needs={"rod": "car.rod"},
               slack=lambda *, rod: RuleSlack(
                   np.where(rod > 0.0095, np.nan, 1.0), "at most", memory=False),
               consequence="law", stops=("drive",), source=PRACTICE)  # fmt: skip
    assert one(room, ROD).verdict is Verdict.SHORT


def test_weights_move_the_chance_and_the_interval():
    from drybuild.findings import Evaluation
    from drybuild.findings.finding import assess, margins
    from drybuild.values import Draws

    room = room_of(lambda *, rod: rod - 0.010)
    registry = Registry([room])
    evaluation = Evaluation(registry, toy.ToyFacts(toy.KINDS, ROD, Draws(4096, 1)), 4096)
    raw = [evaluation.check(registry.checks["toy.x"], "car")]
    rows = margins(raw, 4096)
    heavy = np.where(rows[0] > 0, 3.0, 1.0)
    (even,), (tilted,) = assess(raw, rows), assess(raw, rows, weights=heavy)
    assert even.chance == pytest.approx(0.5, abs=0.01)
    assert tilted.chance == pytest.approx(0.75, abs=0.01)
    assert tilted.margin.median > even.margin.median
    (same,) = assess(raw, rows, weights=np.ones(4096))
    assert same.chance == pytest.approx(even.chance)
    assert same.margin.low == pytest.approx(even.margin.low, abs=2e-6)
