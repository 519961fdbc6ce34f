"""A corner by itself says of each finding what the whole examination says of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybuild.build.new import make_build
from drybuild.examine.opened import open_build
from drybuild.examine.partly import examine_corner
from drybuild.findings import CORNERS

DEMO = Path(__file__).parents[2] / "examples" / "plover"


@pytest.fixture(scope="module", params=["demo", "front-turbo-hatch", "light-roadster"])
def opened(request, tmp_path_factory):
    if request.param == "demo":
        return open_build(DEMO)
    folder = tmp_path_factory.mktemp("cars") / request.param
    make_build(folder, nearest=request.param, driving="yes", first_change="lower it")
    return open_build(folder)


@pytest.mark.parametrize("corner", CORNERS)
def test_a_finding_has_one_figure_on_every_page(opened, corner: str) -> None:
    state = opened.state("finished")
    whole = opened.examine("finished")
    part = examine_corner(state, opened.registry, corner)
    assert {"corners.tyre_arm_gap", "ride.bump_rest"} & {f.check for f in part.findings}
    for f in part.findings:
        same = whole.finding(f.check, f.subject)
        assert (f.margin, f.slack, f.chance, f.verdict) == (
            same.margin, same.slack, same.chance, same.verdict
        ), f.check  # fmt: skip
