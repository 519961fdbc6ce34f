"""What holds the wheels is said in the word of the car's own kind, on every way out."""

from __future__ import annotations

import pytest

from drybuild.build.fixings import fixing_of, in_own_words
from drybuild.build.kinds.corners import WheelNut
from drybuild.build.new import make_build
from drybuild.examine import open_build
from drybuild.examine.naming import car_name, plain_name
from drybuild.systems import registry
from drybuild.work.library import load


def _held(*forms):
    return {f"held_{n}": WheelNut.model_construct(form=form) for n, form in enumerate(forms)}


@pytest.mark.parametrize(
    ("forms", "fixing"),
    [(("nut",), "nut"), (("bolt", "bolt"), "bolt"), (("nut", "bolt"), ""), ((None,), ""), ((), "")],
)
def test_only_parts_of_one_form_say_what_holds_the_wheels(forms, fixing):
    assert fixing_of(_held(*forms)) == fixing


def test_a_text_says_the_one_that_the_car_has():
    said = "CHECK WHEEL NUTS OR BOLTS: nuts or bolts. Nut or bolt, shaft nut or flange bolts"
    bolts = "CHECK WHEEL BOLTS: bolts. Bolt, shaft nut or flange bolts"
    assert in_own_words(said, "bolt") == bolts
    assert in_own_words(said, "nut") == "CHECK WHEEL NUTS: nuts. Nut, shaft nut or flange bolts"
    assert in_own_words(said, "") == said


def _texts(specs):
    return [t for s in specs for t in (s.title, s.do, s.safety, getattr(s, "when_short", ""))]


def test_hand_checks_and_findings_of_a_car_with_bolts_name_no_wheel_nuts():
    car = registry("bolt")
    said = [
        *_texts(r for r in car.records.values() if r.id.startswith("corners.")),
        *_texts(c for c in car.checks.values() if "nut" in c.id or "wheel" in c.id),
    ]
    named = [text for text in said if "wheel nut" in text or "nuts or bolts" in text]
    assert not named
    assert any("wheel bolts" in text for text in said)


def test_the_work_on_a_car_with_bolts_names_no_wheel_nuts():
    for outline in ("transverse-turbo", "in-line-rear-drive", "flat-four-turbo"):
        library = load(outline, "bolt")
        said = repr([library.components, library.effects, library.places])
        assert "wheel bolts" in said
        for wrong in ("wheel nut", "WHEEL NUT", "nuts or bolts", "their nuts a quarter"):
            assert wrong not in said, (outline, wrong)


def test_a_car_begun_from_a_starter_speaks_of_its_own(tmp_path):
    """The hatch has bolts into its hubs, as its standard parts say."""
    make_build(
        tmp_path / "hatch", nearest="front-turbo-hatch", driving="yes",
        first_change="wheels and tyres",
    )
    opened = open_build(tmp_path / "hatch")
    record = opened.registry.records["corners.nuts_tightened"]
    assert record.title.startswith("wheel bolts tightened")
    seat = "wheel_nuts.front.seat"
    assert plain_name(seat) == "front wheel nuts or bolts seat"
    assert car_name(seat, opened.build.parts) == "front wheel bolts seat"


def test_no_end_of_a_car_is_told_of_an_upright_or_strut_that_it_may_not_have():
    """A twist beam carries its hub on a stub axle; both ends of every car have a hub carrier."""
    checks = [c for c in registry().checks.values() if c.room == "corners"]
    said = [*_texts(checks), plain_name("corner.rear.left.upright_point.gap")]
    assert not [t for t in said if "upright" in t or "strut" in t or "arm bolt" in t]
    beam = repr([load("transverse-turbo").components[f"{w}_rear"] for w in
                 ("arms", "spring_units", "hubs")])  # fmt: skip
    for wrong in ("upright", "strut", "arm bolt", "ball joint", "cams", "split pin"):
        assert wrong not in beam, wrong
