"""A starter car's turbocharger is one of its rated power: held to the air that the power takes."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build import read_build
from drybuild.build.new import make_build
from drybuild.examine.map_points import flow_as_scaled
from drybuild.systems.breathing.engine import (
    efficiency_at_lambda,
    fuel_flow,
    power_from_efficiency,
)
from drybuild.systems.fuel.properties import PETROL

LAMBDA = 0.85
ROOMIEST = 1.9
"""A standard compressor's largest flow over the air of the rated power, at most: one of twice that
air is a tuner's (from memory)."""


def _air(power: float, efficiency: float) -> float:
    """Air (kg/s) that a power takes: the project's own chain of air to power, turned round."""
    of_one = power_from_efficiency(
        fuel_flow=fuel_flow(air_flow=1.0, lambda_=LAMBDA, stoichiometric_ratio=PETROL.stoich),
        heating_value=PETROL.heating_value,
        brake_efficiency=efficiency_at_lambda(efficiency=efficiency, lambda_=LAMBDA),
    )
    return float(power / of_one)


def test_the_air_of_a_power_is_bsfc_times_air_fuel_ratio() -> None:
    bsfc = 1.0 / (0.325 * LAMBDA * PETROL.heating_value)  # kg/J, Heywood 1988, 2.22 and 2.24
    by_hand = 132e3 * bsfc * LAMBDA * PETROL.stoich
    assert _air(132e3, 0.325) == pytest.approx(by_hand)
    assert by_hand == pytest.approx(0.137, abs=0.002)


@pytest.mark.practice
@pytest.mark.parametrize("car", ["front-turbo-hatch", "awd-turbo-wagon", "rear-turbo-coupe"])
def test_a_starter_s_compressor_carries_its_rated_power_and_is_no_tuner_s(
    tmp_path: Path, car: str
) -> None:
    build = read_build(make_build(tmp_path / car, nearest=car, driving="yes"))
    stated = {name: build.stated[name].value for name in
              ("registration.rated_power", "engine.brake_efficiency")}  # fmt: skip
    power, efficiency = stated["registration.rated_power"], stated["engine.brake_efficiency"]
    found = flow_as_scaled(build, "std_turbo")
    assert found is not None
    middle, low, high = found
    assert low >= _air(power.centre + power.half_width, efficiency.centre)
    assert high <= ROOMIEST * _air(power.centre, efficiency.centre)
    assert 1.2 < middle / _air(power.centre, efficiency.centre) < 1.6
