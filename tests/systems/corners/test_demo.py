"""The corners of the demo car: one honest conflict, one thing nobody measured, a small cure."""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from pathlib import Path

import pytest

import drybuild
from drybuild.build import Change
from drybuild.examine.opened import OpenBuild
from drybuild.findings import Finding, Verdict

PLOVER = Path(__file__).parents[3] / "examples" / "plover"
REAR = ("rear.left", "rear.right")
FRONT = ("front.left", "front.right")


@pytest.fixture(scope="module")
def plover() -> OpenBuild:
    return drybuild.open_build(PLOVER)


def corners(found: Iterable[Finding]) -> dict[tuple[str, str], Finding]:
    return {(f.check, f.subject): f for f in found if f.check.startswith("corners.")}


def test_the_car_as_driven_in_has_room_everywhere(plover: OpenBuild) -> None:
    found = corners(plover.examine("as found", draws=1024).findings)
    assert len({check for check, _ in found}) >= 20
    assert {f.verdict for f in found.values()} == {Verdict.ENOUGH}
    assert not any(f.armed for f in found.values())


def test_when_finished_the_rear_touches_at_full_bump_and_one_thing_is_not_measured(
    plover: OpenBuild,
) -> None:
    found = corners(plover.examine("finished", draws=4096).findings)
    odd = {key: f.verdict for key, f in found.items() if f.verdict is not Verdict.ENOUGH}
    assert odd == {
        **{("corners.arch_bump_gap", side): Verdict.SHORT for side in REAR},
        **{("corners.caliper_spoke_gap", side): Verdict.UNMEASURED for side in FRONT},
    }
    touch = found["corners.arch_bump_gap", "rear.left"]
    assert touch.slack is not None
    assert -0.006 < touch.slack.median < 0.0
    spokes = found["corners.caliper_spoke_gap", "front.left"]
    assert any("wheel.front.left.spoke_depth" in m.split("|") for m in spokes.missing)


@pytest.mark.parametrize(
    "cure",
    [
        [Change("set", "arm.rear.camber_change", {"is": "-1.6 deg", "plus_minus": "0.1 deg"})],
        [Change("fit", "wheel.rear", "loft_17x85_et38")],
    ],
)
def test_each_small_cure_gives_the_room(plover: OpenBuild, cure: list[Change]) -> None:
    found = corners(plover.examine(plover.draft("cure", cure), draws=4096).findings)
    assert {found["corners.arch_bump_gap", side].verdict for side in REAR} == {Verdict.ENOUGH}


def test_a_narrower_tyre_helps(plover: OpenBuild) -> None:
    draft = plover.draft("narrow", [Change("fit", "tyre.rear", "sallow_235_40")])
    narrow = corners(plover.examine(draft, draws=1024).findings)
    wide = corners(plover.examine("finished", draws=1024).findings)
    key = ("corners.arch_bump_gap", "rear.left")
    gained = narrow[key].slack.median - wide[key].slack.median  # type: ignore[union-attr]
    assert 0.002 < gained < 0.006


def test_a_spacer_takes_from_the_arch_what_it_gives_the_upright(
    plover: OpenBuild, tmp_path: Path
) -> None:
    folder = tmp_path / "plover"
    shutil.copytree(PLOVER, folder)
    (folder / "parts" / "extra.toml").write_text(
        'format = 1\n[part.plate]\nkind = "spacer"\nthickness = "5 mm"\n'
        '[part.nameless]\nkind = "spacer"\n'
        "[part.mapped]\n"
        + _table(folder / "parts" / "wheels.toml", "loft_17x8")
        + 'spoke_map = { x = [100, 150, 190], x_unit = "mm", y = [52, 48, 44], y_unit = "mm" }\n',
        encoding="utf-8",
    )
    build = drybuild.open_build(folder)
    plain = corners(build.examine("finished", draws=1024).findings)
    with_plate = build.draft("plate", [Change("fit", "spacer.front", "plate")])
    spaced = corners(build.examine(with_plate, draws=1024).findings)

    def moved(check: str) -> float:
        key = (f"corners.{check}", "front.left")
        return spaced[key].slack.median - plain[key].slack.median  # type: ignore[union-attr]

    assert moved("tyre_upright_gap") == pytest.approx(0.005, abs=2e-4)
    assert moved("arch_bump_gap") == pytest.approx(-0.005, abs=3e-4)
    assert spaced["corners.thread_engagement", "front.left"].verdict is Verdict.ENOUGH

    unknown = build.draft("unknown", [Change("fit", "spacer.front", "nameless")])
    found = corners(build.examine(unknown, draws=1024).findings)
    assert found["corners.tyre_upright_gap", "front.left"].verdict is Verdict.UNMEASURED

    mapped = build.draft("mapped", [Change("fit", "wheel.front", "mapped")])
    spokes = corners(build.examine(mapped, draws=1024).findings)
    assert spokes["corners.caliper_spoke_gap", "front.left"].slack is not None


def _table(path: Path, part: str) -> str:
    """The lines of one part's table."""
    text = path.read_text(encoding="utf-8")
    return text.split(f"[part.{part}]\n")[1].split("\n[part.")[0].rstrip() + "\n"
