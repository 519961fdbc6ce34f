"""Each factor that is written down is the units library's own, to the last bit."""

from __future__ import annotations

import subprocess
import sys

import pytest

from drybuild.values import spellings
from drybuild.values._factors import FACTORS
from drybuild.values.units import asked_of_pint

PAIRS = sorted(
    {(e, spellings.PINT_SI[f]) for f, spelt in spellings.FAMILIES.items() for e in spelt.values()}
)


def test_every_spelling_has_its_factor_and_nothing_else_is_written_down():
    assert sorted(FACTORS) == PAIRS


@pytest.mark.parametrize("pair", PAIRS, ids="/".join)
def test_a_factor_is_the_library_s(pair):
    assert FACTORS[pair] == asked_of_pint(*pair)


SAID = (
    "import sys; from drybuild.values import parse_value; parse_value('62 mm', 'length'); "
    "print('pint' in sys.modules)"
)


def test_reading_a_unit_does_not_wait_for_the_library():
    said = subprocess.run([sys.executable, "-c", SAID], capture_output=True, text=True, check=True)
    assert said.stdout == "False\n"
