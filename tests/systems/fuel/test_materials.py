"""The table of wetted materials is data, and says by whose word."""

from __future__ import annotations

from typing import get_args

import numpy as np
import pytest

from drybuild.build.kinds.fuel import FuelFilter, Material
from drybuild.systems.fuel.rules_materials import ethanol_limit, materials


def test_table_and_model_know_the_same_materials():
    assert set(materials()) == set(get_args(Material))


def test_every_row_has_a_source_and_a_limit():
    for material in materials().values():
        assert 0.0 <= material.limit <= 1.0
        assert material.source


def test_the_weakest_material_decides():
    assert ethanol_limit(("PTFE", "stainless steel")) == 1.0
    assert ethanol_limit(("PTFE", "NBR", "stainless steel")) == 0.10
    assert ethanol_limit(["natural rubber", "PTFE"]) == 0.0


@pytest.mark.parametrize("bare", ["zinc", "brass", "bare aluminium", "lead solder"])
def test_what_the_handbook_flags_stands_no_more_than_pump_petrol(bare):
    assert ethanol_limit((bare,)) <= 0.10


def test_a_makers_figure_stands_as_it_is():
    draws = np.array([0.84, 0.86])
    assert ethanol_limit(draws) is draws


def test_an_unknown_material_is_a_fault():
    with pytest.raises(ValueError, match="stainless steel"):
        FuelFilter.model_validate({"kind": "fuel_filter", "wetted": ["kryptonite"]})
