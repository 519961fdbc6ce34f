"""The build folder: what is read, and how faults are reported."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build import BuildFaults, Change, ChangeRefused, read_build
from drybuild.build.declared import declaration, expand
from drybuild.build.migrate import FORMAT

BUILD = """\
format = 1

[build]
name = "toy"

[[job]]
id = "wheels"
fit = { "wheel.front" = "wide" }
"""
CAR = """\
format = 1
name = "toy car"

[fitted]
wheel = "std"
"spacer.rear" = "none"

[car]
wheelbase = "2330 ± 2 mm"
"""
PARTS = """\
format = 1

[part.std]
kind = "wheel"
rim_width = "6.5 in"
offset = "45 mm"

[part.wide]
kind = "wheel"
rim_width = "8 in"
offset = { is = "32 mm", by = "maker" }
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "parts").mkdir()
    (tmp_path / "build.toml").write_text(BUILD, encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "parts" / "wheels.toml").write_text(PARTS, encoding="utf-8")
    return tmp_path


def faults(folder: Path):
    with pytest.raises(BuildFaults) as caught:
        read_build(folder)
    return caught.value.faults


def edit(folder: Path, name: str, old: str, new: str) -> None:
    path = folder / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_reads_places_per_side(folder):
    build = read_build(folder)
    assert build.base_fitted["wheel.rear.left"] == "std"
    assert build.base_fitted["spacer.rear.right"] is None
    assert "spacer.front.left" not in build.base_fitted
    assert build.parts["wide"].offset.median == pytest.approx(0.032)


def test_a_misspelt_key_names_file_line_and_the_nearest(folder):
    edit(folder, "parts/wheels.toml", 'offset = "45 mm"', 'ofset = "45 mm"')
    (fault,) = faults(folder)
    assert (fault.file, fault.line) == ("parts/wheels.toml", 6)
    assert "ofset" in fault.found
    assert "offset" in fault.hint


def test_a_wrong_unit_names_file_line_and_what_was_expected(folder):
    edit(folder, "car.toml", "2330 ± 2 mm", "2330 ± 2 kg")
    (fault,) = faults(folder)
    assert (fault.file, fault.line) == ("car.toml", 9)
    assert "kg" in fault.found
    assert "mm" in fault.expected


def test_all_faults_of_all_files_at_once(folder):
    edit(folder, "parts/wheels.toml", 'offset = "45 mm"', 'ofset = "45 mm"')
    edit(folder, "car.toml", "2330 ± 2 mm", "2330")
    edit(folder, "build.toml", 'name = "toy"', 'nam = "toy"')
    assert {f.file for f in faults(folder)} == {"build.toml", "car.toml", "parts/wheels.toml"}


def test_an_unknown_part_offers_the_nearest(folder):
    edit(folder, "car.toml", 'wheel = "std"', 'wheel = "stdd"')
    (fault,) = faults(folder)
    assert fault.line == 5
    assert "'std'" in fault.expected


def test_a_part_of_the_wrong_kind_is_refused(folder):
    edit(folder, "build.toml", '"wheel.front" = "wide"', '"spring.front" = "wide"')
    (fault,) = faults(folder)
    assert "is a wheel, a spring goes there" in fault.expected


def test_unknown_kind_offers_the_nearest(folder):
    edit(folder, "parts/wheels.toml", '[part.std]\nkind = "wheel"', '[part.std]\nkind = "weel"')
    found = faults(folder)
    assert any(f.where == "part.std.kind" and "'wheel'" in f.hint for f in found)


@pytest.mark.parametrize("name", ["build.toml", "car.toml"])
def test_a_missing_file_is_a_fault(folder, name):
    (folder / name).unlink()
    assert any(f.file == name for f in faults(folder))


def test_no_format_number_is_a_fault(folder):
    edit(folder, "car.toml", "format = 1\n", "")
    (fault,) = faults(folder)
    assert fault.expected == f"format = {FORMAT}"


def test_a_later_format_is_refused_not_guessed(folder):
    edit(folder, "car.toml", "format = 1", "format = 99")
    (fault,) = faults(folder)
    assert fault.found == "99"


def test_the_trial_format_is_still_read(folder):
    """Format 0 wrote ``how`` for ``known`` and ``type`` for ``kind``."""
    text = PARTS.replace("format = 1", 'format = 0\nhow = "maker"').replace("kind =", "type =")
    (folder / "parts" / "wheels.toml").write_text(text, encoding="utf-8")
    build = read_build(folder)
    assert build.part_known["std"].words == "maker's data"
    assert build.parts["std"].kind == "wheel"


def test_bad_toml_names_the_line(folder):
    edit(folder, "car.toml", "[car]", "[car")
    assert any(f.file == "car.toml" and f.line == 8 for f in faults(folder))


def test_bytes_that_are_not_text(folder):
    (folder / "car.toml").write_bytes(b"format = 1\nname = \"\xff\"\n")
    assert any("0xff" in f.found and f.line == 2 for f in faults(folder))


def test_a_huge_file_is_refused_unread(folder):
    (folder / "car.toml").write_bytes(b"#" * 2_000_001)
    assert any("2,000,001" in f.found for f in faults(folder))


def test_the_same_part_twice_names_both_files(folder):
    (folder / "parts" / "more.toml").write_text(PARTS, encoding="utf-8")
    assert any("used twice" in f.found for f in faults(folder))


def test_the_order_of_files_and_tables_does_not_matter(folder):
    first = read_build(folder)
    blocks = PARTS.split("\n\n")
    (folder / "parts" / "wheels.toml").unlink()
    turned = "\n\n".join([blocks[0], blocks[2], blocks[1]])
    (folder / "parts" / "z.toml").write_text(turned, encoding="utf-8")
    assert read_build(folder).parts == first.parts


# ---- State and Change


def test_a_state_is_base_and_changes(folder):
    build = read_build(folder)
    base = build.base_state
    after = base.after([Change("fit", "wheel.front.left", "wide")])
    assert after.fitted["wheel.front.left"] == "wide"
    assert after.fitted["wheel.front.right"] == "std"
    assert base.fitted["wheel.front.left"] == "std"  # the state before is untouched
    assert after.place_changed("wheel.front.left")
    assert not after.after([Change("fit", "wheel.front.left", "std")]).place_changed(
        "wheel.front.left"
    )
    assert after.base == base


def test_groups_expand(folder):
    after = read_build(folder).base_state.after([Change("fit", "wheel", "wide")])
    assert {v for k, v in after.fitted.items() if k.startswith("wheel")} == {"wide"}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (Change("fit", "weel.front", "wide"), "did you mean"),
        (Change("fit", "wheel.front", "nothing"), "no part"),
        (Change("set", "car.wheelbse", "2 m"), "did you mean"),
        (Change("set", "car.wheelbase", "2 kg"), "expected"),
        (Change("close", "intake"), "not open"),
    ],
)
def test_a_change_that_does_not_suit_is_refused(folder, change, message):
    with pytest.raises(ChangeRefused, match=message):
        read_build(folder).base_state.after([change])


def test_records_are_owed_until_verified_and_again_after_the_next_change(folder):
    state = read_build(folder).base_state
    fit, seen = Change("fit", "wheel.front.left", "wide"), Change("verify", "nuts", {"value": "x"})
    assert state.owed(("wheel.*",), "nuts") == ()
    assert state.after([fit]).owed(("wheel.*",), "nuts") == ("wheel.front.left",)
    assert state.after([fit, seen]).owed(("wheel.*",), "nuts") == ()
    again = state.after([fit, seen, Change("fit", "wheel.front.left", "std")])
    assert again.owed(("wheel.*",), "nuts") == ("wheel.front.left",)


def test_every_declared_address_has_an_owner_and_a_meaning():
    for address in expand("wheel.offset"):
        declared = declaration(address)
        assert declared is not None
        assert declared.doc
    assert len(expand("wheel.offset")) == 4
    assert len(expand("wheel.front.offset")) == 2
