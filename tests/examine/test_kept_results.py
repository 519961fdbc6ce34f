"""What is kept of an examination, and what is made anew, alters nothing that it says."""

from __future__ import annotations

import threading
import time
import tracemalloc
from pathlib import Path

import numpy as np
import pytest

from drybuild.build.drawn import DrawnFacts
from drybuild.examine import Examination, OpenBuild, examination, examine_state, open_build
from drybuild.findings import Fact, Missing
from drybuild.values import Draws

DEMO = Path(__file__).parents[2] / "examples" / "plover"


@pytest.fixture(scope="module")
def opened() -> OpenBuild:
    return open_build(DEMO)


def said(found: Examination) -> list[str]:
    return [repr(f) for f in found.findings] + [repr(u) for u in found.uses]


def test_the_car_as_found_is_worked_out_once_and_says_the_same(opened, monkeypatch):
    monkeypatch.setattr(examination, "_BASES", type(examination._BASES)(maxlen=2))
    alone = {
        name: examine_state(opened.state(name), opened.registry, draws=1024)
        for name in ("finished", "now")
        if not examination._BASES.clear()
    }
    assert alone["finished"].evaluation.base is not alone["now"].evaluation.base
    together = {
        name: examine_state(opened.state(name), opened.registry, draws=1024)
        for name in ("now", "finished")
    }
    assert together["finished"].evaluation.base is together["now"].evaluation.base
    for name, found in together.items():
        assert said(found) == said(alone[name])
        assert np.array_equal(found.margins, alone[name].margins, equal_nan=True)


def test_another_reading_of_the_folder_has_its_own_car_as_found(opened):
    one = examine_state(opened.state("now"), opened.registry, draws=64)
    again = open_build(DEMO)
    other = examine_state(again.state("now"), again.registry, draws=64)
    assert one.evaluation.base is not other.evaluation.base
    assert other.evaluation.base.facts.state.build is again.build


def test_what_was_forgotten_is_made_anew_to_the_last_bit(opened):
    found = examine_state(opened.state("finished"), opened.registry, draws=256)
    evaluation = found.evaluation
    results = opened.registry.instances(evaluation.facts.blends)
    arrays = {a: o.value for a in results if isinstance((o := evaluation.get(a)).value, np.ndarray)}
    assert len(arrays) > 100
    evaluation.forget()
    for address, before in arrays.items():
        assert np.array_equal(evaluation.get(address).value, before, equal_nan=True)


class _Slow(DrawnFacts):
    """Facts that take their time over one address, so that a second thread comes upon the first."""

    came = threading.Event()

    def _find(self, address: str) -> Fact | Missing:
        if address == "corner.front.left.camber":
            self.came.set()
            time.sleep(0.2)
        return super()._find(address)


def test_a_reference_that_two_threads_follow_is_no_ring(opened):
    follows = "corner.front.right.arch_point.camber"
    facts = _Slow(opened.state("as found"), Draws(64))
    first = threading.Thread(target=lambda: facts.fact(follows))
    first.start()
    assert facts.came.wait(10)
    seen = facts.fact(follows)
    first.join()
    assert isinstance(seen, Fact)


def test_what_is_examined_sparingly_says_the_same_and_holds_less(opened):
    held = []
    for sparing in (False, True):
        tracemalloc.start()
        found = examine_state(
            opened.state("finished"), opened.registry, draws=2048, unknowns=False, sparing=sparing
        )
        held.append((tracemalloc.get_traced_memory()[1], said(found), found.margins))
        tracemalloc.stop()
    assert held[0][1] == held[1][1]
    assert np.array_equal(held[0][2], held[1][2], equal_nan=True)
    assert held[1][0] < 0.85 * held[0][0]
