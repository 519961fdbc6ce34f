"""What moves with another part: the engine's figures, the two sides of an axle."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest
from fitting import measured_by_hand

from drybuild.build import Change
from drybuild.examine import Examination
from drybuild.examine.catalogue.moved import moves
from drybuild.examine.examination import examine_state
from drybuild.show.what_fits import moved_sentence

DRAWS = 512


@cache
def examined(*changes: Change) -> Examination:
    opened = measured_by_hand()
    state = opened.state("finished")
    made = state.after(changes, "draft:tried") if changes else state
    return examine_state(made, opened.registry, draws=DRAWS, unknowns=False)


def camber(side: str, degrees: str) -> Change:
    return Change("set", f"corner.front.{side}.camber", degrees)


def peak(examination: Examination, of: str) -> float:
    curve = examination.evaluation.get("breathing.power.blend70").value
    return float(np.median(getattr(curve, of).max(axis=0)))


def test_a_smaller_turbocharger_is_said_in_power_torque_and_boost() -> None:
    before, after = examined(), examined(Change("fit", "turbo", "plover_turbo"))
    said = moved_sentence(moves(before, after, "front"), "metric")
    power = re.search(r"most power with blend70 −(\d+) kW, to about (\d+) kW", said)
    torque = re.search(r"most torque with blend70 −(\d+) N·m, to about (\d+) N·m", said)
    assert power is not None, said
    assert torque is not None, said
    lost = peak(before, "power") - peak(after, "power")
    assert int(power[1]) == pytest.approx(lost / 1e3, abs=0.6)
    assert int(power[2]) == pytest.approx(peak(after, "power") / 1e3, abs=0.6)
    assert int(torque[2]) == pytest.approx(peak(after, "torque"), abs=0.6)
    assert re.search(r"highest boost −0\.\d+ bar", said)


def test_a_part_that_leaves_the_engine_alone_moves_no_figure_of_it() -> None:
    after = examined(Change("fit", "spring.front", "tolland_spring_36"))
    said = moved_sentence(moves(examined(), after, "front"), "metric")
    assert "camber" in said
    assert not re.search("power with|torque with|boost", said)


def test_two_sides_that_move_alike_are_said_once_and_others_each() -> None:
    both = examined(camber("left", "-2.6 deg"), camber("right", "-2.6 deg"))
    one = examined(camber("left", "-2.6 deg"))
    said = [
        [f.what for f in moves(examined(), after, "front").figures if f.what.startswith("camber")]
        for after in (both, one)
    ]
    assert said == [["camber, both sides"], ["camber, left"]]
