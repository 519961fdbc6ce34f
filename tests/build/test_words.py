"""Words in the files: written bare they are known as their file says, as a table as they say."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest

from drybuild.build import BuildFaults, read_build
from drybuild.build.declared import declaration, is_word
from drybuild.build.drawn import stated
from drybuild.build.schemas import file_schemas
from drybuild.values import HowKnown

BUILD = 'format = 1\n[build]\nname = "words"\n'
CAR = """format = 1
name = "a car"
known = "assumed"
[fitted]
"tyre.front" = "a_tyre"
"tyre.rear" = "b_tyre"
[corner.front]
bolt_count = 4
[corner.rear]
bolt_count = { is = 4, by = "count" }
"""
PARTS = """format = 1
known = "assumed"
[part.a_tyre]
kind = "tyre"
marking = "205/50 R16 87V"
[part.b_tyre]
kind = "tyre"
marking = { is = "205/50 R16 87V", BY }
"""


def _folder(tmp_path: Path, by: str = 'by = "eye"') -> Path:
    (tmp_path / "parts").mkdir()
    (tmp_path / "build.toml").write_text(BUILD, encoding="utf-8")
    (tmp_path / "car.toml").write_text(CAR, encoding="utf-8")
    (tmp_path / "parts" / "p.toml").write_text(PARTS.replace("BY", by), encoding="utf-8")
    return tmp_path


def _stated(folder: Path, address: str):
    declared = declaration(address)
    assert declared is not None
    found = stated(read_build(folder).base_state, declared)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("by", "known"),
    [
        ('by = "eye"', HowKnown.MEASURED),
        ('by = "numbers on the sidewall"', HowKnown.MEASURED),
        ('by = "maker"', HowKnown.MAKER),
        ('by = "stamp"', HowKnown.MAKER),
        ('by = "catalogue"', HowKnown.CATALOGUE),
        ('by = "assumed"', HowKnown.ASSUMED),
        ('by = "eye", seen_by = "Ben"', HowKnown.SEEN),
    ],
)
def test_a_word_says_how_it_is_known(tmp_path, by, known):
    folder = _folder(tmp_path, by)
    bare = _stated(folder, "tyre.front.left.marking")
    told = _stated(folder, "tyre.rear.left.marking")
    assert (bare.value, bare.known) == (told.value, HowKnown.ASSUMED)
    assert told.known is known


def test_a_count_of_the_car_too(tmp_path):
    folder = _folder(tmp_path)
    assert _stated(folder, "corner.front.left.bolt_count").known is HowKnown.ASSUMED
    told = _stated(folder, "corner.rear.right.bolt_count")
    assert (told.value, told.known) == (4, HowKnown.MEASURED)


@pytest.mark.parametrize("by", ["by = 3", 'by = ""', 'how = "eye"', 'by = "eye", plus_minus = "1"'])
def test_a_table_that_says_something_else_is_refused_in_plain_words(tmp_path, by):
    with pytest.raises(BuildFaults) as caught:
        read_build(_folder(tmp_path, by))
    fault = caught.value.faults[0]
    assert (fault.file, fault.where) == ("parts/p.toml", "part.b_tyre.marking")
    assert 'text in "quotes"' in fault.expected


def test_numbers_curves_and_tables_are_no_words():
    for address in ("wheel.front.left.offset", "pump.curve", "corner.front.left.arch_point"):
        assert not is_word(declaration(address))
    for address in ("wheel.front.left.seat", "wheel.front.left.bolt_count", "regulator.referenced"):
        assert is_word(declaration(address))


def test_editors_are_told_of_both_ways():
    schema = file_schemas()["parts"]
    for marking in ("205/50 R16 87V", {"is": "205/50 R16 87V", "by": "eye"}):
        part = {"kind": "tyre", "marking": marking}
        jsonschema.validate({"format": 1, "part": {"t": part}}, schema)
    part = {"kind": "tyre", "marking": {"is": "205/50 R16 87V"}}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"format": 1, "part": {"t": part}}, schema)
