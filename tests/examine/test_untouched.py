"""What no change moves stops nothing, also where it is worked out together with what moves."""

from __future__ import annotations

from pathlib import Path

import drybuild
from drybuild.build import Change
from drybuild.build.new import make_build
from drybuild.examine import OpenBuild
from drybuild.examine.examination import examine_state
from drybuild.findings import Finding

FUEL = ("fuel.return_hose_pressure", "fuel.rail_pressure_ceiling", "electrics.wire_current")


def looked_at(opened: OpenBuild, *changes: Change) -> dict[str, Finding]:
    state = opened.state("now").after(changes, "draft:tried")
    found = examine_state(state, opened.registry, draws=256, unknowns=False).findings
    return {f.check: f for f in found}


def test_an_intake_leaves_the_fuel_lines_as_found_and_another_line_does_not(
    tmp_path: Path,
) -> None:
    folder = make_build(
        tmp_path / "car", nearest="front-turbo-hatch", driving="yes", first_change="power"
    )
    opened = drybuild.open_build(folder)
    intake = looked_at(opened, Change("fit", "intake", "my_intake"))
    for check in FUEL:
        assert not intake[check].armed, check
        assert not intake[check].stopping, check
    assert intake["breathing.charge_temperature"].armed  # what the intake does move
    line = looked_at(opened, Change("set", "return_line.pressure_rating", "5 bar gauge"))
    assert line["fuel.return_hose_pressure"].armed
    pump = looked_at(opened, Change("set", "pump.winding_resistance", "0.2 ohm"))
    assert pump["electrics.wire_current"].armed
