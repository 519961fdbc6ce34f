"""Lists of rims and tyres: what is read from them, and what is said of faults."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybuild.build.errors import BuildFaults
from drybuild.examine.catalogue import read_list
from drybuild.examine.catalogue.lists import delimiter_of


def _written(folder: Path, text: str, name: str = "list.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def _part(path: Path, kind: Any = "wheel", index: int = 0) -> Any:
    return read_list(path, kind)[index].part


def _faults(path: Path, kind: Any = "wheel") -> list[tuple[int | None, str, str]]:
    with pytest.raises(BuildFaults) as raised:
        read_list(path, kind)
    return [(f.line, f.where, f.found) for f in raised.value.faults]


def test_columns_of_the_trade(tmp_path: Path) -> None:
    path = _written(
        tmp_path,
        "Name,Diameter,Rim width,ET,PCD,Centre bore (mm),Load rating (kg),Mass [kg],Price (AUD)\n"
        "Five,17,8.5,30,4x100,67.1,690,8.5,279\n",
    )
    wheel = _part(path)
    assert wheel.name == "Five"
    assert wheel.diameter_code == 17
    assert wheel.rim_width.median == pytest.approx(8.5 * 0.0254)
    assert wheel.offset.median == pytest.approx(0.030)
    assert (wheel.bolt_count, wheel.bolt_circle.median) == (4, pytest.approx(0.1))
    assert wheel.hub_bore.median == pytest.approx(0.0671)
    assert wheel.load_rating.median == pytest.approx(690)
    assert wheel.mass.median == pytest.approx(8.5)
    assert wheel.price == "279 AUD"
    assert read_list(path, "wheel")[0].origin == "list.csv row 2"


@pytest.mark.parametrize(
    "cell", ["8.5Jx17 ET30", "8½J x 17 H2 ET30", "8.5x17 ET 30", "17x8.5 ET30", "8.5JX17H2 ET30"]
)
def test_a_rim_marking_says_three_things(tmp_path: Path, cell: str) -> None:
    wheel = _part(_written(tmp_path, f"size;price\n{cell};1\n"))
    assert wheel.diameter_code == 17
    assert wheel.rim_width.median == pytest.approx(8.5 * 0.0254)
    assert wheel.offset.median == pytest.approx(0.030)


def test_units_in_the_cells_go_before_those_of_the_trade(tmp_path: Path) -> None:
    text = "diameter,rim width,offset\n17 in,216 mm,1.2 in\n"
    wheel = _part(_written(tmp_path, text))
    assert wheel.rim_width.median == pytest.approx(0.216)
    assert wheel.offset.median == pytest.approx(1.2 * 0.0254)


def test_decimal_commas_where_the_comma_does_not_part_the_cells(tmp_path: Path) -> None:
    text = "Rim size;ET;PCD;Bore\n8,5Jx17;30;5x114,3;67,1\n"
    wheel = _part(_written(tmp_path, text))
    assert wheel.rim_width.median == pytest.approx(8.5 * 0.0254)
    assert wheel.bolt_circle.median == pytest.approx(0.1143)
    assert wheel.hub_bore.median == pytest.approx(0.0671)


def test_a_tyre_from_its_pieces(tmp_path: Path) -> None:
    text = "Width,Profile,Rim,Load index,Speed rating,XL\n245,40,R17,95,W,yes\n235,40,17,90,W,no\n"
    path = _written(tmp_path, text)
    assert _part(path, "tyre").marking == "245/40 R17 95W XL"
    assert _part(path, "tyre", 1).marking == "235/40 R17 90W"


def test_what_a_cell_does_not_say_stays_unknown(tmp_path: Path) -> None:
    wheel = _part(_written(tmp_path, "size,offset,bore,load\n17x8,38,-,n/a\n"))
    assert wheel.hub_bore is None
    assert wheel.load_rating is None


def test_remarks_and_empty_rows_are_passed_over(tmp_path: Path) -> None:
    text = "# from the shop, May\nsize,offset\n\n17x8,38\n# sold out\n17x9,25\n"
    found = read_list(_written(tmp_path, text), "wheel")
    assert [p.origin for p in found] == ["list.csv row 4", "list.csv row 6"]


def test_a_toml_list_is_a_file_of_parts(tmp_path: Path) -> None:
    text = (
        'format = 1\n[part.a]\nkind = "wheel"\nrim_width = "8 in"\noffset = "38 mm"\n'
        'diameter_code = 17\n[part.t]\nkind = "tyre"\nmarking = "235/40 R17 90W"\n'
    )
    path = _written(tmp_path, text, "list.toml")
    assert _part(path).offset.median == pytest.approx(0.038)
    assert _part(path, "tyre").marking == "235/40 R17 90W"
    assert len(read_list(path, "wheel")) == 1


@settings(max_examples=40)
@given(
    rows=st.lists(
        st.tuples(
            st.sampled_from([14, 15, 16, 17, 18, 19, 20]),
            st.integers(min_value=9, max_value=24),
            st.integers(min_value=-20, max_value=60),
            st.sampled_from([None, "4x100", "5x112", "5x114.3"]),
        ),
        min_size=1,
        max_size=8,
    ),
    delimiter=st.sampled_from([",", ";", "\t", "|"]),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
)
def test_what_was_written_is_read_again(
    tmp_path_factory: pytest.TempPathFactory,
    rows: list[tuple[int, int, int, str | None]],
    delimiter: str,
    quoting: Any,
) -> None:
    path = tmp_path_factory.mktemp("lists") / "rims.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, delimiter=delimiter, quoting=quoting)
        writer.writerow(["diameter", "rim width (in)", "offset (mm)", "PCD"])
        for code, halves, offset, pattern in rows:
            writer.writerow([code, halves / 2, offset, pattern or ""])
    found = [p.part for p in read_list(path, "wheel")]
    assert len(found) == len(rows)
    for part, (code, halves, offset, pattern) in zip(found, rows, strict=True):
        wheel: Any = part
        assert wheel.diameter_code == code
        assert wheel.rim_width.median == pytest.approx(halves / 2 * 0.0254)
        assert wheel.offset.median == pytest.approx(offset * 1e-3)
        assert wheel.bolt_count == (None if pattern is None else int(pattern[0]))


@pytest.mark.parametrize("text", ["size\n17x8\n", "a,b\n1,2\n", "a;b\n1;2\n", "a\tb\n1\t2\n"])
def test_the_delimiter_stands_in_the_head_or_is_a_comma(text: str) -> None:
    assert delimiter_of(text) in (text.splitlines()[0] + ",")


@pytest.mark.parametrize(
    ("text", "line", "where", "found"),
    [
        ("size,offset,colour\n17x8,38,red\n", 1, "column 3", "'colour'"),
        ("size,offset,ET\n17x8,38,38\n", 1, "column 3", "'ET' beside 'offset'"),
        ("diameter,offset\n17,38\n", 1, "", "no such column"),
        ("size,offset\n17x8,38\n17x8,wide\n", 3, "offset", "'wide'"),
        ("size,offset\nhuge,38\n", 2, "size", "'huge'"),
        ("size,offset\n17x8,38,1\n", 2, "", "3 cells"),
        ("size,offset,mass\n17x8,38,8.4\n", 2, "mass", "a number without a unit"),
        ("size,offset,rim width\n17x8,38,203\n", 2, "rim width", "'203'"),
        ("size,offset,rim width\n17x8,38,9\n", 2, "size", "'17x8'"),
        ("size,offset,PCD\n17x8,38,4 by 100\n", 2, "PCD", "'4 by 100'"),
        ("size,offset\n17x8,380\n", 2, "offset", "'380'"),
        ("size,price\n17x8,1\n", 2, "size", "'17x8'"),
        ("", None, "", "no rims"),
        ("size,offset\n", None, "", "no rims"),
    ],
)
def test_faults_name_row_and_column(
    tmp_path: Path, text: str, line: int | None, where: str, found: str
) -> None:
    assert _faults(_written(tmp_path, text)) == [(line, where, found)]


def test_faults_are_told_together(tmp_path: Path) -> None:
    text = "size,offset,PCD\n17x8,wide,4x100\n17x8,38,round\nsquare,38,4x100\n"
    assert [line for line, _, _ in _faults(_written(tmp_path, text))] == [2, 3, 4]


@pytest.mark.parametrize("cell", ["245/40", "245/41 R17", "245/40 R17 95Z9", "wide"])
def test_a_faulty_tyre_is_told_as_the_marking_says(tmp_path: Path, cell: str) -> None:
    ((line, where, _),) = _faults(_written(tmp_path, f"size\n{cell}\n"), "tyre")
    assert (line, where) == (2, "size")


def test_what_is_no_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(b"size,offset\n17x8,\xff\n")
    assert _faults(path) == [(2, "", "byte 0xff, which is not UTF-8")]
    path.write_bytes(b"PK\x03\x04\0\0")
    assert _faults(path) == [(1, "", "a zero byte")]
    assert _faults(tmp_path / "nowhere.csv")[0][2] == "No such file or directory"
    path.write_text('size,offset\n"17x8,38\n', encoding="utf-8")
    assert _faults(path)


def test_the_nearest_right_word_is_offered(tmp_path: Path) -> None:
    with pytest.raises(BuildFaults) as raised:
        read_list(_written(tmp_path, "size,offsett\n17x8,38\n"), "wheel")
    assert raised.value.faults[0].hint == "did you mean 'offset'?"
