"""What is cast on a wheel, as people type it."""

from __future__ import annotations

import pytest

from drybuild.build.kinds.corners import Corner, Tyre, Wheel
from drybuild.build.wheel_marking import WheelMarking, WheelMarkingError, parse_wheel, size_of
from drybuild.values import HowKnown


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("8Jx17 ET35", WheelMarking(8.0, 17, 35.0)),
        ("8 J X 17 H2 ET 35", WheelMarking(8.0, 17, 35.0)),
        ("7 1/2 J x 16 ET45 5x112", WheelMarking(7.5, 16, 45.0, 5, 112.0)),
        ("7½Jx16H2 ET 47", WheelMarking(7.5, 16, 47.0)),
        ("7,5x17", WheelMarking(7.5, 17)),
        ("17x8 ET35", WheelMarking(8.0, 17, 35.0)),
        ("18 x 8.5J ET−12 4x100", WheelMarking(8.5, 18, -12.0, 4, 100.0)),
        ("8x17 EH2 ET35 5/114.3", WheelMarking(8.0, 17, 35.0, 5, 114.3)),
        ("8Jx17ET35", WheelMarking(8.0, 17, 35.0)),
    ],
)
def test_markings(typed: str, meant: WheelMarking) -> None:
    assert parse_wheel(typed) == meant
    assert parse_wheel(str(meant)) == meant


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("", "empty"), ("17", "rim width, x, diameter code"), ("8x9", "rim width, x"),
        ("8x17 chrome", "'CHROME' is not known"), ("9.3Jx17", "9.3 in wide"),
        ("8x30", "10 to 24"), ("8x17 ET300", "-100 to 120"), ("8x17 5x300", "95 to 210"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_with_the_form(typed: str, why: str) -> None:
    with pytest.raises(WheelMarkingError, match="Write it as on the wheel") as refused:
        parse_wheel(typed)
    assert why in str(refused.value)


def test_a_size_is_said_from_what_the_file_states() -> None:
    wheel = {"kind": "wheel", "rim_width": "7.5 in", "diameter_code": 18}
    more = {"offset": "38 ± 1 mm", "bolt_count": 5, "bolt_circle": "114.3 mm"}
    assert size_of(Wheel.model_validate(wheel)) == "7.5Jx18"
    assert size_of(Wheel.model_validate({**wheel, **more})) == "7.5Jx18 ET38 5x114.3"
    assert parse_wheel("7.5Jx18 ET38 5x114.3").circle_mm == 114.3
    assert size_of(Wheel.model_validate({"kind": "wheel"})) == ""
    assert size_of(Tyre.model_validate({"kind": "tyre", "marking": "215/40 R18 89W"})) == (
        "215/40 R18 89W"
    )


def test_bolt_holes_that_are_guessed_are_in_no_name_and_who_says_the_circle_counted_them() -> None:
    wheel = {"kind": "wheel", "rim_width": "7.5 in", "diameter_code": 18, "bolt_count": 5}
    guessed = {"is": "112 mm", "by": "assumed"}
    said = {"is": "112 mm", "by": "maker"}
    made = [Wheel.model_validate({**wheel, "bolt_circle": one}) for one in (guessed, said)]
    assert [size_of(one) for one in made] == ["7.5Jx18", "7.5Jx18 5x112"]
    known = [one.how_known("bolt_count", HowKnown.ASSUMED) for one in made]
    assert known == [HowKnown.ASSUMED, HowKnown.MAKER]
    hub = Corner.model_validate({"bolt_count": 5, "bolt_circle": said})
    assert hub.how_known("bolt_count", HowKnown.ASSUMED) is HowKnown.MAKER
    assert hub.how_known("tilts", HowKnown.ASSUMED) is HowKnown.ASSUMED
