"""Curves, and the field types of the models."""

from __future__ import annotations

import json

import jsonschema
import numpy as np
import pytest
from pydantic import BaseModel, ValidationError

from drybuild.values import (
    KINDS,
    CurveFault,
    DrawnCurve,
    Draws,
    HowKnown,
    ValueFault,
    deviation,
    parse_curve,
    parse_value,
    types,
)
from drybuild.values.types import CurveOf, Length, PressureGauge, Ratio, json_schema

DRAWS = Draws()
CAMBER = {"x": ["0 mm", "20 mm", "60 mm"], "y": ["-0.5 deg", "-0.9 deg", "-2.1 deg"],
          "offset_doubt": "0.1 deg", "scale_doubt": "5 %"}


def test_a_curve_is_shifted_and_scaled_as_a_whole():
    drawn = parse_curve(CAMBER, "length", "angle").column(DRAWS, "camber")
    assert drawn.y.shape == (3, 4096)
    slopes = np.diff(drawn.y, axis=0) / np.diff(drawn.x)[:, None]
    # both slopes carry the one scale: their ratio has no doubt
    np.testing.assert_allclose(slopes[1] / slopes[0], 1.5, rtol=1e-9)
    assert deviation(drawn.y[0]) == pytest.approx(
        np.radians(np.hypot(0.05, 0.5 * np.log(1.05) / 2)), rel=0.03)


def test_points_and_units_said_once():
    one = parse_curve({"points": [["20 mm", "-0.9 deg"], ["0 mm", "-0.5 deg"]]}, "length", "angle")
    two = parse_curve({"x": [0, 20], "y": [-0.5, -0.9], "x_unit": "mm", "y_unit": "deg"}, "length",
                      "angle")
    assert (one.x, one.y) == (two.x, two.y)


def test_between_outside_and_held():
    curve = DrawnCurve(np.array([0.0, 1.0, 3.0]), np.array([0.0, 2.0, 0.0]))
    assert curve.at(0.25) == 0.5
    assert curve.at(3.0) == 0.0
    np.testing.assert_allclose(curve.at(np.array([-1.0, 1.0, 2.0, 4.0])), [np.nan, 2, 1, np.nan])
    np.testing.assert_allclose(curve.clip_at(np.array([-1.0, 4.0])), [0.0, 0.0])
    assert np.isnan(curve.at(np.nan))


def test_shapes_of_the_question():
    drawn = parse_curve(CAMBER, "length", "angle").column(DRAWS, "camber")
    n = DRAWS.n
    each = np.linspace(0.0, 0.06, n)
    assert drawn.at(0.01).shape == (n,)
    assert drawn.at(each).shape == (n,)
    assert drawn.at(np.array([0.0, 0.01, 0.02])).shape == (3, n)
    assert drawn.at(np.array([[0.0], [0.01]])).shape == (2, n)
    assert drawn.at(np.tile(each, (2, 1))).shape == (2, n)
    for k in (0, 77, n - 1):
        expected = np.interp(each[k], drawn.x, drawn.y[:, k])
        assert drawn.at(each)[k] == pytest.approx(expected)
        assert drawn.at(np.tile(each, (2, 1)))[1, k] == pytest.approx(expected)
        assert drawn.at(0.033)[k] == pytest.approx(np.interp(0.033, drawn.x, drawn.y[:, k]))
        assert drawn.at(np.array([0.0, 0.033]))[1, k] == drawn.at(0.033)[k]


def test_a_quantity_that_cannot_be_negative_stays_so():
    drawn = parse_curve({"x": ["0 bar", "5 bar"], "y": ["200 L/h", "0 L/h"],
                         "offset_doubt": "20 L/h"}, "pressure_difference", "flow_volume"
                        ).column(DRAWS, "pump")
    assert drawn.y.min() == 0.0


def test_doubt_of_a_curve_by_default():
    raw = {"x": ["0 mm", "9 mm"], "y": ["0 deg", "1 deg"]}
    assert parse_curve(raw, "length", "angle").offset_half == pytest.approx(np.radians(0.25))
    assert parse_curve(raw, "length", "angle", default_doubt="4 %").scale_half == 0.04
    assert parse_curve(raw, "length", "angle", how="assumed", default_doubt="4 %"
                       ).scale_half == pytest.approx(0.12)
    measured = parse_curve(raw | {"by": "camber gauge"}, "length", "angle")
    assert measured.how is HowKnown.MEASURED
    assert measured.bias == pytest.approx(np.radians(0.1))
    exact = parse_curve(raw | {"scale_doubt": "0 %"}, "length", "angle")
    assert exact.exact
    assert exact.column(DRAWS, "c").y.shape == (2,)


def test_a_curve_and_a_reading_share_their_gauge():
    raw = {"x": ["0 mm", "9 mm"], "y": ["0 deg", "1 deg"], "by": "camber gauge",
           "offset_doubt": "0.1 deg"}
    curve = parse_curve(raw, "length", "angle").column(DRAWS, "c")
    reading = parse_value({"is": "0 deg", "by": "camber gauge", "plus_minus": "0.1 deg"}, "angle")
    np.testing.assert_allclose(curve.y[0], reading.column(DRAWS, "r"), atol=1e-12)


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        ("flat", "x ="), ({"x": ["0 mm"], "y": ["1 deg"]}, "two points"),
        ({"x": ["0 mm", "1 mm"], "y": ["1 deg"]}, "equal length"),
        ({"x": ["0 mm", "0 mm"], "y": ["1 deg", "2 deg"]}, "one y for each x"),
        ({"x": ["0 mm", "1 mm"], "y": ["1 ± 1 deg", "2 deg"]}, "offset_doubt"),
        ({"x": [0, 1], "y": ["1 deg", "2 deg"]}, "x_unit"),
        ({"x": ["0 mm", "1 mm"], "y": ["1 deg", "2 deg"], "scale": "3 %"}, "scale_doubt"),
        ({"x": ["0 mm", "1 mm"], "y": ["1 deg", "2 deg"], "scale_doubt": "3 mm"}, "percentage"),
        ({"x": ["0 mm", "1 mm"], "y": ["1 deg", "2 deg"], "offset_doubt": 3}, "text"),
        ({"x": ["0 mm", "1 mm"], "y": ["1 deg", True]}, "True"),
        ({"x": ["0 mm", "1 mm"], "y": ["1 deg", None]}, "None"),
        ({"points": [["0 mm"], 3]}, "points = "), ({"points": [], "x": []}, "one of the two"),
        ({"x": [10**400, 1], "y": ["1 deg", "2 deg"], "x_unit": "mm"}, "finite"),
        ({"x": ["0 mm", "1 mm"], "y": ["1 deg", "2 deg"], "scale_doubt": 10**5000}, "percentage"),
        pytest.param(10**5000, "a curve", id="huge"),
        ({"x": 3, "y": 4}, "lists"), ({"x": ["0 mm", "1 mm"], "y": ["1 nm", "2 mm"]}, "deg"),
    ],
)
def test_faults_of_a_curve(raw, says):
    with pytest.raises(ValueFault) as caught:
        parse_curve(raw, "length", "angle")
    assert says in str(caught.value)


def test_a_flow_below_zero_is_a_fault():
    with pytest.raises(CurveFault, match="outside"):
        parse_curve({"x": ["0 bar", "5 bar"], "y": ["200 L/h", "-1 L/h"]}, "pressure_difference",
                    "flow_volume")


# Field types ----------------------------------------------------------------------------------


class Wheel(BaseModel):
    offset: Length | None = None
    share: Ratio | None = None
    boost: PressureGauge | None = None
    camber: CurveOf("length", "angle") | None = None  # type: ignore[valid-type]


def test_every_kind_has_a_type():
    for kind in KINDS:
        name = "".join(word.capitalize() for word in kind.split("_"))
        assert getattr(types, name).__metadata__[0].kind == kind


def test_context_tells_how_and_the_doubt_of_each_field():
    wheel = Wheel.model_validate({"offset": "45 mm", "share": 0.9, "camber": CAMBER},
                                 context={"how": "maker", "catalogue": {"offset": "2 mm"}})
    assert wheel.offset is not None
    assert (wheel.offset.half_width, wheel.offset.how) == (0.002, HowKnown.MAKER)
    assert wheel.camber.how is HowKnown.MAKER
    again = Wheel.model_validate({"offset": wheel.offset})
    assert again.offset is wheel.offset


def test_faults_carry_found_expected_and_hint():
    with pytest.raises(ValidationError) as caught:
        Wheel.model_validate({"offset": 45, "boost": "1.3 bar", "camber": 3})
    errors = {error["loc"][0]: error for error in caught.value.errors()}
    assert set(errors) == {"offset", "boost", "camber"}
    for error in errors.values():
        assert error["type"] == "value_fault"
        assert set(error["ctx"]) == {"found", "expected", "hint"}


def test_a_value_of_another_kind_is_a_fault():
    with pytest.raises(ValidationError):
        Wheel.model_validate({"offset": parse_value("3 kg", "mass")})


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_schema_takes_what_the_reader_takes(kind):
    schema = json_schema(kind)
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema)
    if kind == "match":
        assert check.is_valid(True)
        return
    example = KINDS[kind].example
    for raw in (example, [example, example], {"is": example, "by": "maker", "note": "x"},
                {"same_as": "car.x"}):
        assert check.is_valid(raw), raw
    assert check.is_valid(3.0) == KINDS[kind].dimensionless
    for raw in (True, None, [], {"is": example, "bye": "tape"}, {"by": "tape"}):
        assert not check.is_valid(raw), raw


def test_a_model_gives_a_schema():
    schema = Wheel.model_json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema)
    assert check.is_valid({"offset": "45 mm", "camber": CAMBER})
    assert not check.is_valid({"camber": {"x": [0, 1], "z": 3}})
    assert "mm" in json.dumps(schema)
