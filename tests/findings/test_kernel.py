"""The kernel: registration, arming, missing inputs, verdicts and what may not be passed."""

from __future__ import annotations

import numpy as np
import pytest
import toy
from hypothesis import given
from hypothesis import strategies as st

from drybuild.examine.naming import lacking_text
from drybuild.examine.uses import do_of
from drybuild.findings import (
    NOT_APPLICABLE,
    PRACTICE,
    Along,
    Evaluation,
    FormulaRefused,
    Lacking,
    NotWorkedOut,
    RegistrationError,
    Registry,
    Room,
    RuleSlack,
    Verdict,
    matches,
)
from drybuild.findings.evaluate import BEYOND, UNWORKABLE, _any_of, beyond
from drybuild.findings.words import use_closure, uses
from drybuild.values import Draws

GOOD = {"car.hole": "20 ± 0.2 mm", "car.rod": "17 ± 0.2 mm", "car.paint": "0.1 ± 0.02 mm"}


def one(texts, room=None, **kw):
    found = toy.find(room or toy.toy_room(), texts, **kw)
    assert len(found) == 1
    return found[0]


def test_margin_is_slack_less_the_gap_wanted():
    f = one(GOOD)
    # 20 − 0.2 − 17 = 2.8 of slack, 1.0 wanted; widths add in squares
    assert f.slack.median == pytest.approx(2.8e-3, abs=2e-5)
    assert f.margin.median == pytest.approx(1.8e-3, abs=2e-5)
    half = (0.2**2 + 0.2**2 + 0.04**2) ** 0.5 * 1e-3 * 1.96 / 2
    assert f.margin.high - f.margin.median == pytest.approx(half, rel=0.03)
    assert f.verdict is Verdict.ENOUGH


@pytest.mark.parametrize(
    ("rod", "verdict"),
    [("17 ± 0.2 mm", "enough"), ("18.8 ± 0.5 mm", "unsure"), ("19.8 ± 0.2 mm", "short")],
)
def test_verdicts(rod, verdict):
    assert one({**GOOD, "car.rod": rod}).verdict == verdict


def test_missing_input_is_unmeasured_and_named():
    f = one({"car.hole": "20 mm", "car.paint": "0.1 mm"})
    assert f.verdict is Verdict.UNMEASURED
    assert f.missing == ("car.rod",)
    assert f.margin is None


def test_missing_input_behind_a_result_is_named():
    assert one({"car.rod": "17 mm", "car.paint": "0.1 mm"}).missing == ("car.hole",)


def test_a_check_about_an_absent_part_is_not_made():
    assert toy.find(toy.toy_room(), {"car.hole": "2 mm", "car.paint": "0 mm"},
                    absent=frozenset({"car.rod"})) == []


def test_armed_only_by_a_change_of_its_inputs_through_results():
    assert not one(GOOD).armed
    assert one(GOOD, changed=frozenset({"car.hole"})).armed
    assert one(GOOD, changed=frozenset({"car.hole"})).touched == ("car.hole",)


def test_carried_inputs_do_not_arm():
    assert not one(GOOD, changed=frozenset({"car.paint"})).armed


def solved_room() -> Room:
    """A solution of hole and paint; the hole is read off it, and so is the paint."""
    room = toy.toy_room()
    room.results.clear()
    room.result(
        "toy.solution", of=lambda *, hole, paint: {"hole": hole, "paint": paint}, kind="object",
        needs={"hole": "car.hole", "paint": "car.paint"}, source=toy.SOURCE,
    )  # fmt: skip
    room.result(
        "toy.hole", of=lambda *, solved: solved["hole"], kind="length",
        needs={"solved": "toy.solution"}, source=toy.SOURCE,
    )  # fmt: skip
    return room


def test_a_figure_read_off_a_solution_arms_only_where_it_moved():
    registry = Registry([solved_room()])
    gap = registry.checks["toy.gap"]

    def touched(hole: str, paint: str) -> frozenset[str]:
        draws, changed = Draws(256, 1), frozenset({"car.hole", "car.paint"})
        now = {**GOOD, "car.hole": hole, "car.paint": paint}
        base = Evaluation(registry, toy.ToyFacts(toy.KINDS, GOOD, draws), 256)
        facts = toy.ToyFacts(toy.KINDS, now, draws, changed)
        item = Evaluation(registry, facts, 256, base).check(gap, "car")
        assert item is not None
        return item.outcome.touched

    assert touched(GOOD["car.hole"], "0.5 mm") == frozenset()
    assert touched("25 mm", GOOD["car.paint"]) == {"car.hole", "car.paint"}


def test_unarmed_stops_nothing_however_short():
    short = {**GOOD, "car.rod": "22 mm"}
    assert one(short).verdict is Verdict.SHORT
    assert not one(short).stopping
    armed = one(short, changed=frozenset({"car.rod"}))
    assert armed.stopping
    assert armed.stopped_uses == {"drive"}


def test_unsure_stops_only_where_it_matters():
    close = {**GOOD, "car.rod": "18.8 ± 0.5 mm"}
    rod = frozenset({"car.rod"})
    assert not one(close, changed=rod).stopping
    assert one(close, toy.toy_room("engine"), changed=rod).stopping
    assert one(close, toy.toy_room("injury"), changed=rod).stopping


def test_injury_needs_99_and_more_than_assumed_inputs():
    room = toy.toy_room("injury")
    assert one(GOOD, room).verdict is Verdict.ENOUGH
    f = one(GOOD, room, how="assumed")
    assert f.verdict is Verdict.UNSURE
    assert "a guess" in f.why
    # 0.3 mm over a sigma of 0.16: P is about 0.97: enough for damage, not for injury
    close = {**GOOD, "car.rod": "18.5 ± 0.25 mm"}
    assert one(close).verdict is Verdict.ENOUGH
    assert one(close, room).verdict is Verdict.UNSURE


def test_injury_checks_need_a_word_of_safety():
    room = Room("toy", title="Toy")
    with pytest.raises(RegistrationError, match="safety"):
        room.check("toy.x", title="x", kind="length", needs={}, slack=lambda: 1.0,
                   consequence="injury", stops=("drive",), source=PRACTICE)


def law_room(slack, **rule):
    room = Room("toy", title="Toy")
    room.check("toy.rule", title="rule", kind="length", needs={"rod": "car.rod"},
               slack=lambda *, rod: RuleSlack(slack - rod, "at most", **rule),
               consequence="law", stops=("drive",), source=PRACTICE)
    return room


def test_law_as_written():
    rod = {"car.rod": "10 ± 1 mm"}
    assert one(rod, law_room(0.0095, memory=False)).verdict is Verdict.SHORT
    assert one(rod, law_room(0.0102, memory=False)).verdict is Verdict.UNSURE
    assert one(rod, law_room(0.0120, memory=False)).verdict is Verdict.ENOUGH
    recalled = one(rod, law_room(0.0120, memory=True))
    assert recalled.verdict is Verdict.UNSURE
    assert "recalled" in recalled.why


def test_limit_of_law_is_inclusive():
    assert one({"car.rod": {"is": "10 mm", "exact": True}},
               law_room(0.010, memory=False)).verdict is Verdict.ENOUGH


def test_nan_counts_as_short():
    room = Room("toy", title="Toy")
    room.check("toy.x", title="x", kind="length", needs={"rod": "car.rod"},
               slack=lambda *, rod: np.where(rod > 0.010, np.nan, 1.0),
               consequence="damage", stops=("drive",), source=PRACTICE)
    assert one({"car.rod": "10 ± 1 mm"}, room).chance == pytest.approx(0.5, abs=0.01)


def test_worst_point_is_taken_per_draw():
    """Two points that are each enough in half of the draws, never together: enough in none."""
    room = Room("toy", title="Toy")

    def slack(*, rod):
        d = rod - 0.010
        return Along(np.stack([d, -d]), np.array([100.0, 200.0]), "rotation_speed")

    room.check("toy.x", title="x", kind="length", needs={"rod": "car.rod"}, slack=slack,
               consequence="damage", stops=("drive",), source=PRACTICE)
    f = one({"car.rod": "10 ± 1 mm"}, room)
    assert f.chance == pytest.approx(0.0, abs=0.01)
    assert f.verdict is Verdict.SHORT
    assert {f.worst_at.low, f.worst_at.high} == {100.0, 200.0}


def test_ranges_are_reported_and_hard_ones_blank():
    f = one({**GOOD, "car.paint": "0.8 to 1.2 mm"})
    assert any("paint outside" in note and "50%" in note for note in f.outside_range)


def test_not_applicable_makes_no_finding():
    room = Room("toy", title="Toy")
    room.check("toy.x", title="x", kind="length", needs={}, slack=lambda: NOT_APPLICABLE,
               consequence="damage", stops=("drive",), source=PRACTICE)
    assert toy.find(room, {}) == []


def test_a_refusal_is_unmeasured_with_its_reason():
    room = Room("toy", title="Toy")

    def slack(*, word):
        raise FormulaRefused(f"{word!r} is no tyre marking")

    room.check("toy.x", title="x", kind="length", needs={"word": "car.word"}, slack=slack,
               consequence="damage", stops=("drive",), source=PRACTICE)
    f = one({"car.word": "round"}, room)
    assert f.verdict is Verdict.UNMEASURED
    assert f.missing == ("'round' is no tyre marking",)


def test_figures_that_make_an_arithmetic_error_wait_for_nothing():
    """Stated exactly they are floats: as columns of draws they would be short."""
    room = Room("toy", title="Toy")
    room.check("toy.x", title="x", kind="length", needs={"rod": "car.rod"},
               slack=lambda *, rod: 1.0 / rod, consequence="damage", stops=("drive",),
               source=PRACTICE)  # fmt: skip
    (f,) = toy.find(room, {"car.rod": "0 ± 0 mm"}, changed=frozenset({"car.rod"}))
    assert f.verdict is Verdict.UNMEASURED
    assert f.missing[0].startswith(UNWORKABLE)
    assert f.stopping
    assert f.waits_for == ""
    (f,) = toy.find(room, {}, changed=frozenset({"car.rod"}))
    assert (f.stopping, f.waits_for) == (True, "measuring")


def _refusing(error):
    room = Room("toy", title="Toy")

    def refused(*, rod):
        raise error

    room.result("toy.long", kind="length", needs={"rod": "car.rod"}, formula="x", source=PRACTICE,
                of=refused)  # fmt: skip
    room.check("toy.x", title="x", kind="length", needs={"long": "toy.long"},
               slack=lambda *, long: long, consequence="damage", stops=("drive",),
               source=PRACTICE)  # fmt: skip
    (f,) = toy.find(room, {"car.rod": "5 mm"}, changed=frozenset({"car.rod"}))
    return f


def test_what_no_measurement_would_help_waits_for_nothing():
    """Its reason comes through from a result to the check, and says what it is."""
    f = _refusing(NotWorkedOut("the rod is of a kind that no table has"))
    assert (f.verdict, f.stopping, f.waits_for) == (Verdict.UNMEASURED, True, "")
    said = "cannot be worked out: the rod is of a kind that no table has"
    assert f.beyond == (said,)
    assert lacking_text(f) == said
    assert do_of(f).startswith("no measurement settles it")
    f = _refusing(FormulaRefused("the length of the rod"))
    assert (f.stopping, f.waits_for, f.beyond) == (True, "measuring", ())
    assert lacking_text(f) == "nobody has stated the length of the rod"
    assert do_of(f) == "measure or look up the length of the rod"
    f = _refusing(ZeroDivisionError("by zero"))
    assert f.waits_for == ""
    assert lacking_text(f) == "cannot be worked out from these figures: toy.long (by zero)"


def test_what_a_formula_lacks_is_missing_by_its_address_and_can_be_stated():
    """Through a result too; what a formula says in words alone nobody could type in."""
    room = Room("toy", title="Toy")

    def lacks(*, rod, hole, paint):
        if rod is None:
            raise Lacking("rod")
        if hole is None and paint is None:
            raise Lacking("hole|paint")
        return rod

    needs = {"rod": "?car.rod", "hole": "?car.hole", "paint": "?car.paint"}
    room.result("toy.long", kind="length", needs=needs, formula="x", source=PRACTICE, of=lacks)
    room.check("toy.x", title="x", kind="length", needs={"long": "toy.long"},
               slack=lambda *, long: long, consequence="damage", stops=("drive",),
               source=PRACTICE)  # fmt: skip
    assert one({"car.hole": "20 mm"}, room).missing == ("car.rod",)
    assert one({"car.rod": "17 mm"}, room).missing == ("car.hole|car.paint",)
    assert one({"car.rod": "17 mm", "car.paint": "1 mm"}, room).missing == ()


def test_where_another_way_can_be_measured_that_is_what_is_missing():
    other = f"{BEYOND}another spring is fitted"
    assert _any_of([frozenset({other}), frozenset({"the rate of it"})]) == {"the rate of it"}
    assert _any_of([frozenset({other}), frozenset({"spring.rate"})]) == {"spring.rate"}
    assert _any_of([frozenset({other})]) == {other}
    assert beyond(f"base:{other}")
    assert not beyond("spring.rate")


def test_matches_is_yes_or_no():
    assert list(matches(np.array([True, False]))) == [1.0, -1.0]


def test_a_loop_of_results_names_the_loop():
    room = Room("toy", title="Toy")
    room.result("toy.a", of=lambda *, b: b, kind="length", needs={"b": "toy.b"}, source=PRACTICE)
    room.result("toy.b", of=lambda *, a: a, kind="length", needs={"a": "toy.a"}, source=PRACTICE)
    with pytest.raises(RegistrationError, match=r"toy\.a.*toy\.b|toy\.b.*toy\.a"):
        Registry([room])


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"stops": ("fly",)}, "no use 'fly'"),
        ({"kind": "lenght"}, "no kind 'lenght'"),
        ({"needs": {"hol": "toy.hole", "rod": "car.rod"}}, "no argument 'hol'"),
        ({"needs": {"rod": "car.rod"}}, "nothing is named for 'hole'"),
        ({"valid": {"x": (0, 1)}}, "which is no input"),
    ],
)
def test_registration_faults_name_what_is_wrong(change, message):
    room = Room("toy", title="Toy")
    good = {
        "title": "x", "kind": "length", "needs": {"hole": "toy.hole", "rod": "car.rod"},
        "slack": lambda *, hole, rod: hole - rod, "consequence": "damage", "stops": ("drive",),
        "source": PRACTICE,
    }
    with pytest.raises(RegistrationError, match=message):
        room.check("toy.gap", **{**good, **change})


def test_a_name_is_offered_once_and_under_its_own_room():
    with pytest.raises(RegistrationError, match="twice"):
        Registry([toy.toy_room(), toy.toy_room()])
    with pytest.raises(RegistrationError, match="call it"):
        Room("other", title="Other").record(
            "toy.x", title="x", changed=(), stops=(), do="x", source=PRACTICE
        )


def test_uses_follow_their_prerequisites():
    names = [u.name for u in uses()]
    assert names == ["move", "turn over", "run", "creep", "drive", "full load", "compete"]
    assert use_closure("drive") == {"drive", "creep", "move", "run", "turn over"}
    assert "drive" not in use_closure("compete")  # legal findings stop drive alone


@given(
    rod=st.floats(10, 30), narrow=st.floats(0.01, 1.0), wider=st.floats(1.0, 20.0),
)
def test_more_doubt_never_makes_short_enough(rod, narrow, wider):
    """Widened about its fixed median, an input never turns a short margin into enough."""
    rank = {"short": 0, "unsure": 1, "enough": 2}
    texts = {"car.hole": {"is": "20 mm", "exact": True}, "car.paint": {"is": "0 mm", "exact": True}}
    tight = one({**texts, "car.rod": f"{rod} ± {narrow} mm"}, n=512)
    loose = one({**texts, "car.rod": f"{rod} ± {narrow * wider} mm"}, n=512)
    if rank[tight.verdict] == 0:
        assert rank[loose.verdict] < 2
    if rank[loose.verdict] == 2:
        assert rank[tight.verdict] == 2


def test_adding_an_input_moves_no_other_finding():
    before = one(GOOD)
    room = toy.toy_room()
    room.check("toy.other", title="other", kind="length", needs={"more": "car.more"},
               slack=lambda *, more: more, consequence="damage", stops=(), source=PRACTICE)
    after = toy.find(room, {**GOOD, "car.more": "3 ± 1 mm"},
                     kinds={**toy.KINDS, "car.more": "length"})
    assert after[0] == before


@given(scale=st.floats(0.01, 100))
def test_margins_scale_with_the_lengths(scale):
    room, bare = toy.toy_room(gap_wanted=0.0), {"car.paint": {"is": "0 mm", "exact": True}}
    plain = one({"car.hole": "20 ± 0.2 mm", "car.rod": "17 ± 0.3 mm", **bare}, room)
    scaled = one(
        {"car.hole": f"{20 * scale} ± {0.2 * scale} mm",
         "car.rod": f"{17 * scale} ± {0.3 * scale} mm", **bare}, room)  # fmt: skip
    assert scaled.margin.median == pytest.approx(plain.margin.median * scale, rel=1e-9)


@pytest.mark.parametrize(
    ("texts", "hole"),
    [
        # stated on both sides: in their order; a guess: after what is stated, before nothing
        ({"car.hole": "10 mm", "car.rod": "20 mm"}, 10e-3),
        ({"car.hole": {"is": "10 mm", "by": "assumed"}, "car.rod": "20 mm"}, 20e-3),
        ({"car.hole": {"is": "10 mm", "by": "assumed"},
          "car.rod": {"is": "20 mm", "by": "assumed"}}, 10e-3),
        ({"car.hole": {"is": "10 mm", "by": "assumed"}}, 10e-3),
    ],
)  # fmt: skip
def test_what_is_marked_sure_is_taken_only_where_no_guess_is_in_it(texts, hole):
    room = Room("toy", title="Toy")
    room.check(
        "toy.gap", title="gap", kind="length", needs={"hole": "!car.hole|!car.rod|car.hole"},
        slack=lambda *, hole: hole, consequence="damage", stops=("drive",), source=PRACTICE,
    )  # fmt: skip
    (found,) = toy.find(room, texts)
    assert found.margin.median == pytest.approx(hole, abs=1e-4)
    (lacking,) = toy.find(room, {})
    assert lacking.missing == ("car.hole|car.rod",)
