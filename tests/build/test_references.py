"""`same_as` leads to one declared value of the same kind, or is a fault; never a loop."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build import BuildFaults, Change, ChangeRefused, read_build
from drybuild.build.drawn import DrawnFacts
from drybuild.findings import Fact, Missing
from drybuild.values import Draws

CAR = """\
format = 1
name = "invented"

[fitted]
"wheel.front" = "a"
"wheel.rear" = "b"

[car]
wheelbase = "2330 mm"
"""
PARTS = """\
format = 1

[part.a]
kind = "wheel"
offset = "45 mm"
rim_width = "7 in"

[part.b]
kind = "wheel"
offset = {offset}
"""


def _folder(tmp_path: Path, offset: str, *, first: str = '"45 mm"', car: str = CAR) -> Path:
    (tmp_path / "build.toml").write_text('format = 1\n[build]\nname = "x"\n', encoding="utf-8")
    (tmp_path / "car.toml").write_text(car, encoding="utf-8")
    (tmp_path / "parts").mkdir()
    text = PARTS.replace("{offset}", offset).replace('"45 mm"', first)
    (tmp_path / "parts" / "wheels.toml").write_text(text, encoding="utf-8")
    return tmp_path


def _offset(folder: Path, corner: str) -> Fact | Missing:
    return DrawnFacts(read_build(folder).base_state, Draws(16)).fact(f"wheel.{corner}.offset")


def test_a_reference_has_the_very_draws_of_what_it_names(tmp_path: Path) -> None:
    folder = _folder(tmp_path, '{ same_as = "wheel.front.left.offset" }')
    facts = DrawnFacts(read_build(folder).base_state, Draws(16))
    there, here = (facts.fact(f"wheel.{c}.offset") for c in ("front.left", "rear.left"))
    assert isinstance(there, Fact)
    assert isinstance(here, Fact)
    assert (here.value == there.value).all()
    assert here.columns == there.columns


@pytest.mark.parametrize(
    ("offset", "words"),
    [
        ('{ same_as = "nowhere.at.all" }', "a declared address"),
        ('{ same_as = "wheel.front.left.mass" }', "the address of a length"),
        ('{ same_as = "wheel.front.left.seat" }', "the address of a length"),
        ('{ same_as = "corners.rolling_radius.front.left" }', "a declared address"),
    ],
)
def test_a_reference_to_the_wrong_thing_is_a_fault_on_its_line(
    tmp_path: Path, offset: str, words: str
) -> None:
    folder = _folder(tmp_path, offset)
    with pytest.raises(BuildFaults) as caught:
        read_build(folder)
    (fault,) = caught.value.faults
    assert fault.file == "parts/wheels.toml"
    text = (folder / fault.file).read_text(encoding="utf-8")
    assert fault.line == text[: text.index("same_as")].count("\n") + 1
    assert words in fault.expected


def test_a_ring_of_references_states_nothing(tmp_path: Path) -> None:
    folder = _folder(
        tmp_path,
        '{ same_as = "wheel.front.left.offset" }',
        first='{ same_as = "wheel.rear.left.offset" }',
    )
    for corner in ("front.left", "rear.left", "front.right"):
        assert isinstance(_offset(folder, corner), Missing)


def test_a_table_that_refers_to_itself_is_a_fault(tmp_path: Path) -> None:
    car = CAR.replace('"2330 mm"', '{ same_as = "car.wheelbase" }')
    with pytest.raises(BuildFaults, match="leads back to itself"):
        read_build(_folder(tmp_path, '"30 mm"', car=car))


@pytest.mark.parametrize("other", ["nowhere", "car.kerb_mass", "car.wheelbase"])
def test_a_setting_refers_as_strictly(tmp_path: Path, other: str) -> None:
    state = read_build(_folder(tmp_path, '"30 mm"')).base_state
    with pytest.raises(ChangeRefused, match="same_as"):
        state.after([Change("set", "car.wheelbase", {"same_as": other})])
