"""A part is paid for after what the plan supposes of it is written down; its kind stands first."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest

from drybuild.build.part_named import with_kind
from drybuild.examine import open_build
from drybuild.show.cards_text import after_text
from drybuild.work.after_measuring import before_it_is_paid, rests_on
from drybuild.work.model import ToMeasure
from drybuild.work.shopping import Item

EXAMPLE = Path(__file__).parents[2] / "examples" / "plover"
ARCH = "corner.front.left.arch_point.gap"
MARKING = "tyre.front.left.marking"


@pytest.fixture(scope="module")
def opened():
    return open_build(EXAMPLE)


def _measure(address, note_as=""):
    return ToMeasure(address, note_as or address, "coins", "", 10, True, 1)


def _plan(*measure):
    supposed = SimpleNamespace(check="corners.tyre_arch_gap", subjects=("front.left",))
    return SimpleNamespace(supposed=(supposed,), measure=measure)


def test_a_check_rests_on_facts_through_the_results_between(opened):
    rested = rests_on(opened.registry, "corners.tyre_arch_gap", "front.left", opened.build.blends)
    assert {ARCH, MARKING, "wheel.front.left.offset"} <= rested
    assert not any(address.startswith("pump.") for address in rested)


def test_a_tyre_waits_for_the_gap_that_is_supposed_and_a_pump_for_nothing(opened):
    plan = _plan(_measure(ARCH))
    assert before_it_is_paid(plan, opened, ["tyre.front"], "new_tyre") == plan.measure[0]
    assert before_it_is_paid(plan, opened, ["wheel"], "new_wheel") == plan.measure[0]
    assert before_it_is_paid(plan, opened, ["tyre.rear"], "new_tyre") is None
    assert before_it_is_paid(plan, opened, ["pump"], "new_pump") is None
    assert before_it_is_paid(_plan(), opened, ["tyre.front"], "new_tyre") is None


def test_what_is_read_off_another_part_is_not_waited_for(opened):
    own = _plan(_measure(MARKING, "part.new_tyre.marking"))
    assert before_it_is_paid(own, opened, ["tyre.front"], "new_tyre") == own.measure[0]
    assert before_it_is_paid(own, opened, ["wheel.front"], "new_wheel") is None


def test_the_row_says_what_it_waits_for():
    def row(after):
        return after_text(Item("part", "tyre", "", (), what="new_tyre", after=after))

    assert row(None) == ""
    assert row(_measure(ARCH)) == "after front tyre's side to arch lip is written down"
    own = _measure(MARKING, "part.new_tyre.marking")
    assert row(own) == "after its marking is written down"


@pytest.mark.parametrize(
    ("title", "kind", "places", "said"),
    [
        ("Merrin XY 16", "turbo", ["turbo"], "turbo, Merrin XY 16"),
        ("Merrin M44 turbocharger", "turbo", ["turbo"], "Merrin M44 turbocharger"),
        ("dump pipe to be chosen", "exhaust", ["dump_pipe"], "dump pipe to be chosen"),
        ("Sallow X", "exhaust", ["dump_pipe"], "dump pipe, Sallow X"),
        ("Tolland steel nuts", "wheel_nut", ["wheel_nuts"], "Tolland steel nuts"),
        ("Loft Five", "wheel", ["wheel.front", "wheel.rear"], "wheel, Loft Five"),
    ],
)
def test_the_kind_stands_first_where_the_name_has_none(title, kind, places, said):
    assert with_kind(title, SimpleNamespace(kind=kind), places) == said
