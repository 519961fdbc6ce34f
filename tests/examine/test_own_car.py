"""A car of one's own, begun from a starter car: what a planned change finds, and what cures it."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build.new import STARTERS, make_build
from drybuild.examine.opened import open_build


@pytest.mark.parametrize("starter", STARTERS)
def test_guessed_injectors_and_pump_leave_no_rail_pressure_without_an_answer(
    tmp_path: Path, starter: str
) -> None:
    """Each of the guesses is a pump that may be: the solver finds where it works."""
    folder = make_build(
        tmp_path / "car", nearest=starter, driving="yes", first_change="more fuel"
    )  # fmt: skip
    examination = open_build(folder).examine()
    lost = [
        (f.check, note) for f in examination.findings if f.system in ("fuel", "electrics")
        for note in f.outside_range if "have no answer" in note
    ]  # fmt: skip
    assert not lost
