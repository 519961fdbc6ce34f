"""What a figure can be: limits in the declarations, held on every way into the build."""

from __future__ import annotations

from pathlib import Path

import pytest

import drybuild
from drybuild.build import BuildFaults, ChangeRefused
from drybuild.build.declared import declared_addresses, field_kind
from drybuild.build.new import make_build
from drybuild.build.possible import cannot_be
from drybuild.build.state import read_setting
from drybuild.values import parse_value

LIMITED = sorted({
    (d.model.__name__, d.path[-1]): d.address for d in declared_addresses().values()
    if "possible" in (d.field.json_schema_extra or {})
}.values())  # fmt: skip


def test_what_is_usual_can_be_and_leaves_room() -> None:
    assert len(LIMITED) > 30
    for address in LIMITED:
        declared = declared_addresses()[address]
        extra = declared.field.json_schema_extra
        assert isinstance(extra, dict)
        kind = field_kind(declared.field) or ""
        limits = parse_value(str(extra["possible"]), kind)
        assert limits.low < limits.high, address
        if declared.typical is not None:
            usual = parse_value(declared.typical, kind)
            assert limits.low < usual.low < usual.high < limits.high, address


@pytest.mark.parametrize(
    ("address", "typed"),
    [("corner.front.left.camber", "-95 deg"), ("wheel.front.left.offset", "420 mm"),
     ("wheel.front.left.offset", ["900 mm", "1000 mm", "950 mm"]),
     ("disc.front.left.thickness", "25 cm"),
     ("corner.front.left.bump_outboard", {"is": "1 m", "by": "tape"})],
)  # fmt: skip
def test_a_slip_of_the_hand_is_refused_with_what_is_usual(address: str, typed: object) -> None:
    with pytest.raises(ChangeRefused, match=r"(?i)usual"):
        read_setting(address, typed)


@pytest.mark.parametrize(
    ("address", "typed"),
    [("corner.front.left.camber", "-6 deg"), ("wheel.rear.left.offset", "-44 mm"),
     ("corner.front.left.arch_point.gap", "-12 mm"), ("wheel.front.left.offset", "> 30 mm")],
)  # fmt: skip
def test_what_is_rare_is_taken(address: str, typed: str) -> None:
    assert read_setting(address, typed).kind == "length" or "deg" in typed


def test_without_limits_of_its_own_the_usual_range_is_gone_far_beyond() -> None:
    usual = {"typical": "10 to 20 mm"}
    assert cannot_be(parse_value("119 mm", "length"), usual) is None
    fault = cannot_be(parse_value("121 mm", "length"), usual)
    assert fault is not None
    assert "10 to 20 mm" in fault.expected
    assert cannot_be(parse_value("9 m", "length"), {}) is None


def test_a_file_that_says_what_cannot_be_is_a_fault_with_its_line(tmp_path: Path) -> None:
    folder = make_build(tmp_path / "car", nearest="front-turbo-hatch")
    file = folder / "car.toml"
    text = file.read_text(encoding="utf-8")
    line = next(i for i, row in enumerate(text.splitlines(), 1) if row.startswith("camber = "))
    rows = text.splitlines()
    rows[line - 1] = 'camber = "-95 deg"'
    file.write_text("\n".join(rows) + "\n", encoding="utf-8")
    with pytest.raises(BuildFaults) as told:
        drybuild.open_build(folder)
    (fault,) = told.value.faults
    assert (fault.file, fault.line) == ("car.toml", line)
    assert "−15 to 15 deg" in fault.expected


def test_a_reading_of_before_that_cannot_be_is_told_and_left_out(tmp_path: Path) -> None:
    folder = make_build(tmp_path / "car", nearest="front-turbo-hatch")
    opened = drybuild.open_build(folder)
    opened.journal.note(
        "corner.front.left.camber", "-95 deg", who="Ann", instrument="camber gauge"
    )
    now = drybuild.open_build(folder).present
    assert "corner.front.left.camber" not in now.state.readings
    assert any("-95 deg" in str(fault) for fault in now.clashes)
