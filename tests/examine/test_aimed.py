"""The finished car is the car after its alignment, and where it is not, that is said."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

import drybuild
from drybuild.build import Change
from drybuild.examine import OpenBuild
from drybuild.examine.aimed import aims_apart
from drybuild.examine.setting_sheet import setting_sheet
from drybuild.show.alignment import sheet_text

EXAMPLES = Path(drybuild.__file__).parents[2] / "examples"
REAR = ("rear.left", "rear.right")


@pytest.fixture(scope="module")
def saturdays() -> OpenBuild:
    return drybuild.open_build(EXAMPLES / "plover_saturdays")


def without_set(tmp_path: Path, aim: str) -> OpenBuild:
    """The six Saturdays with an alignment that says nothing of what it sets, and another aim."""
    root = tmp_path / "car"
    shutil.copytree(EXAMPLES / "plover_saturdays", root)
    file = root / "build.toml"
    text = file.read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith('set = { "corner.')]
    text = "\n".join(lines).replace('camber_rear = "-2.6 ± 0.1 deg"', f'camber_rear = "{aim}"')
    assert aim in text
    file.write_text(text + "\n", encoding="utf-8")
    return drybuild.open_build(root)


def test_the_finished_car_stands_as_its_alignment_sets_it(saturdays: OpenBuild) -> None:
    seen = saturdays.examine("finished", draws=2048)
    for corner in REAR:
        camber = seen.evaluation.get(f"ride.camber_set.{corner}").value
        assert np.degrees(np.median(camber)) == pytest.approx(-2.6, abs=0.01)
        ends = np.degrees(np.quantile(camber, (0.025, 0.975)))
        assert ends == pytest.approx((-2.7, -2.5), abs=0.015)
        assert seen.finding("corners.arch_bump_gap", corner).verdict == "enough"


def test_a_wheel_set_more_upright_has_less_room_at_the_arch(saturdays: OpenBuild) -> None:
    aim = Change("set", "goal.camber_rear", "-2.0 ± 0.1 deg")
    planned = saturdays.examine("finished", draws=512)
    upright = saturdays.examine(saturdays.draft("upright", [aim]), draws=512)
    for corner in REAR:
        before = planned.finding("corners.arch_bump_gap", corner).slack
        after = upright.finding("corners.arch_bump_gap", corner).slack
        assert before is not None
        assert after is not None
        assert after.median < before.median - 2e-3  # 0.6 deg over some 0.28 m


def test_an_aim_that_is_not_what_was_worked_out_is_said(tmp_path: Path) -> None:
    opened = without_set(tmp_path, "-2.0 deg")
    (said,) = [note for note in opened.notes() if "rear wheels" in note]
    assert "−2.6 deg" in said
    assert "−2 deg" in said
    assert 'set = { "corner.rear.camber_now" = { same_as = "goal.camber_rear" } }' in said
    near = without_set(tmp_path / "near", "-2.5 deg")
    assert not any("rear wheels" in note for note in near.notes())


def test_nothing_is_said_of_a_car_whose_wheels_nobody_touches(saturdays: OpenBuild) -> None:
    assert aims_apart(saturdays.state("now"), saturdays.registry) == []
    assert aims_apart(saturdays.state("finished"), saturdays.registry) == []


def test_the_sheet_names_the_job_that_sets_it_and_what_is_left_to_set(saturdays: OpenBuild) -> None:
    text = sheet_text(setting_sheet(saturdays.examine("finished", draws=512)))
    front = " ".join(text.partition("front right")[0].split())
    assert "as it is to be set: alignment measured and set on the rack" in front
    assert "left to set about −0.35 deg" in front
    assert "measured and set on the rack the drop did" in front  # a plan moved nothing yet


def test_other_arms_after_the_alignment_undo_what_it_set(saturdays: OpenBuild) -> None:
    done = saturdays.state("finished")
    address = "corner.rear.left.camber_now"
    assert address in done.settings
    assert address not in done.after([Change("fit", "arm.rear", "brack_arm_rear")]).settings
    assert address in done.after([Change("fit", "arm.front", "plover_arm_front")]).settings


def test_no_aim_is_spoken_of_where_no_job_aligns(tmp_path: Path) -> None:
    """Somebody who fits springs and plans no alignment was never asked for one."""
    opened = without_set(tmp_path, "-2.0 deg")
    file = opened.build.root / "build.toml"
    text = file.read_text(encoding="utf-8")
    said = ('like = "alignment', 'set = { "arm.rear.camber_change"')
    kept = [line for line in text.splitlines() if not line.startswith(said)]
    assert len(kept) < len(text.splitlines())
    file.write_text("\n".join(kept) + "\n", encoding="utf-8")
    bare = drybuild.open_build(opened.build.root)
    assert aims_apart(bare.state(), bare.registry) != []
    assert bare.aims_apart() == []
    assert not any("rear wheels" in note for note in bare.notes())
