"""A curve from typed points, and from the one point that a box names."""

from __future__ import annotations

import pytest

from drybuild.build.declared import declared_addresses
from drybuild.examine.curve_points import CurveRefused, axes_of, read_rows, rows_of, through
from drybuild.values import parse_curve

PUMP = declared_addresses()["pump.curve"]
SHAPE = {"x": [0, 3, 6], "x_unit": "bar gauge", "y": [258, 224, 123], "y_unit": "L/h",
         "scale_doubt": "24 %", "by": "assumed"}  # fmt: skip


def test_a_curve_goes_through_the_point_and_keeps_its_shape() -> None:
    table, said = through(PUMP, SHAPE, "3", "255 ± 5 %", by="catalogue", known="catalogue")
    assert said == "through 255 L/h at 3 bar gauge, by catalogue; its shape is a guess"
    assert table["y"] == [pytest.approx(flow * 255 / 224, abs=0.06) for flow in (258, 224, 123)]
    assert table["scale_doubt"] == "11 %"  # 5 of the point, 10 of the shape, by squares
    assert table["by"] == "assumed"
    curve = parse_curve(table, "pressure_gauge", "flow_volume")
    assert curve.y[1] == pytest.approx(255e-3 / 3600)


@pytest.mark.parametrize(
    ("at", "value"),
    [("3 bar", "255 l/h"), ("300 kPa gauge", "4250 cc/min"), ("43.511 psi gauge", "255")],
)
def test_a_point_is_read_in_other_units_and_as_a_box_says_it(at: str, value: str) -> None:
    table, _ = through(PUMP, SHAPE, at, value, by="maker", known="catalogue")
    assert table["y"][1] == pytest.approx(255, rel=1e-3)


@pytest.mark.parametrize(
    ("at", "value", "said"),
    [("9", "255", "from 0 to 6 bar gauge"), ("3", "", "both of its figures"),
     ("3", "much", "much"), ("3", "0", "says nothing of its size")],
)  # fmt: skip
def test_a_point_that_sets_no_size_is_refused(at: str, value: str, said: str) -> None:
    with pytest.raises(CurveRefused, match=said):
        through(PUMP, SHAPE, at, value, by="maker", known="catalogue")


def test_without_a_shape_a_point_is_refused() -> None:
    with pytest.raises(CurveRefused, match="type its points"):
        through(PUMP, None, "3", "255", by="maker", known="catalogue")


def test_points_are_shown_and_read_back_as_they_were() -> None:
    axes = axes_of(PUMP, SHAPE)
    assert axes is not None
    rows = rows_of(axes, SHAPE)
    assert rows.split("\n")[1] == "3; 224"
    again = read_rows(axes, rows, "24 %", "assumed")
    assert {**again, "x": SHAPE["x"], "y": SHAPE["y"]} == SHAPE
    assert (again["x"], again["y"]) == (SHAPE["x"], SHAPE["y"])


@pytest.mark.parametrize(
    ("rows", "said"),
    [("3; 224", "two points"), ("3; 224\n3; 123", "one x"), ("3; 224; 1\n6; 3", "two figures"),
     ("3; much\n6; 3", "row 1"), ("", "two points")],
)  # fmt: skip
def test_rows_that_are_no_curve_are_refused(rows: str, said: str) -> None:
    axes = axes_of(PUMP, SHAPE)
    assert axes is not None
    with pytest.raises(CurveRefused, match=said):
        read_rows(axes, rows, "5 %", "maker")
