"""The search: screen against examination, hand-computed cases, ranking, the demo."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import fitting
import numpy as np
import pytest

from drybuild.build import Change
from drybuild.build.drawn import DrawnFacts
from drybuild.build.errors import ChangeRefused
from drybuild.build.proposed import Proposed, make_part, with_proposed
from drybuild.build.tyre_marking import parse_marking
from drybuild.cli import main
from drybuild.examine import OpenBuild, open_build
from drybuild.examine.catalogue import Wanted, WhatFits, families
from drybuild.examine.catalogue.candidates import Field
from drybuild.examine.catalogue.screen import REDUCING, Screened, axle_scope, screen
from drybuild.examine.catalogue.search import Offer, _of_folder, _rank, gather, joint_of, room_of
from drybuild.examine.catalogue.stack import CandidateFacts
from drybuild.examine.catalogue.window import Alike
from drybuild.findings import Evaluation, Verdict
from drybuild.findings.needs import subjects
from drybuild.show.fit_window import LEVELS, alike_words, window_svg, window_words
from drybuild.show.what_fits import what_fits_text
from drybuild.values import Draws, HowKnown

measured_by_hand, scanned = fitting.measured_by_hand, fitting.scanned

DEMO = Path(__file__).parents[2] / "examples" / "plover"

ARCH = "corners.arch_bump_gap"
UPRIGHT = "corners.tyre_upright_gap"


def _screened(opened: OpenBuild, **wanted: Any) -> tuple[Field, Screened]:
    asked = Wanted(**wanted)
    field = gather(opened.state(), opened.registry, asked)
    also = [f"arm.{asked.axle}.camber_change"] if asked.camber else []
    states = [field.state(c) for c in field.candidates]
    scope = axle_scope(opened.registry, opened.build.blends, asked.axle, also)
    return field, screen(states, opened.registry, scope, proposed=field.proposed)


@pytest.fixture(scope="module")
def by_hand() -> WhatFits:
    """The demo without its scan, around its planned rear wheel, the tyres of its folder."""
    return measured_by_hand().what_fits(
        widths="8 to 9 in", offsets="26 to 44 mm", draws=1024, offer=6
    )


def test_all_at_once_is_what_each_gives_alone() -> None:
    """Laid end to end or one by one: the same chances, check for check."""
    opened = measured_by_hand()
    field, screened = _screened(
        opened, widths="8, 9 in", offsets="25, 38 mm", spacer="0, 5 mm", sizes="all",
        camber="-2.5 to -1.5 deg by 1 deg",
    )  # fmt: skip
    scope = axle_scope(
        opened.registry, opened.build.blends, "rear", ["arm.rear.camber_change"]
    )
    draws = Draws(64, 2026)
    picked = np.linspace(0, len(field.candidates) - 1, 14).round().astype(int)
    seen = 0
    for index in picked:
        state = field.state(field.candidates[index])
        base = Evaluation(opened.registry, DrawnFacts(state.base, draws), 64)
        facts = CandidateFacts(state, draws, field.proposed)
        alone = Evaluation(opened.registry, facts, 64, base)
        together = np.ones(64, dtype=bool)
        for spec in opened.registry.checks.values():
            for subject in subjects(spec.per, facts.blends):
                with np.errstate(all="ignore"):
                    raw = alone.check(spec, subject)
                if raw is None or raw.slack is None:
                    continue
                if not raw.outcome.touched or (spec.id, subject) not in scope.checks:
                    continue
                margin = np.asarray(raw.slack - raw.gap)
                at = screened.keys.index((spec.id, subject))
                assert screened.chance[index, at] == np.mean(margin >= 0), (spec.id, subject)
                assert screened.middle[index, at] == pytest.approx(float(np.mean(margin)), rel=1e-9)
                together &= margin >= 0
                seen += 1
        assert screened.joint[index] == np.mean(together)
    assert seen > 14 * 40


def test_results_that_cannot_be_laid_out_are_registered() -> None:
    assert set(scanned().registry.results) >= REDUCING


def test_a_hand_gap_moved_by_hand() -> None:
    """The rear upright: 19 mm measured with 6.5 in, offset 45 mm and a tyre of 214 mm.

    With 8.5 in and the 245 (248 mm on 8.5 in, 1.5 % growth) the inner side stands at
    248·1.015/2 + offset inboard of the hub face, before it stood at 214/2 + 45 = 152 mm.
    """
    field, screened = _screened(measured_by_hand(), widths="8.5 in", offsets="30, 36, 40, 50 mm")
    at = screened.keys.index((UPRIGHT, "rear.left"))
    found = {}
    for i, candidate in enumerate(field.candidates):
        if candidate.size == "245/40 R17" and candidate.wheel.origin.startswith("generated"):
            found[round(candidate.offset * 1e3)] = (screened.middle[i, at], screened.chance[i, at])
    for offset, (middle, _) in found.items():
        gap = 19.0 - (248.0 * 1.015 / 2.0 + offset - 152.0)
        assert middle * 1e3 == pytest.approx(gap - 4.0, abs=0.3), offset
    assert found[30][1] == 1.0, "15 mm there, 4 wanted: it must not touch"
    assert found[50][1] == 0.0, "5 mm into the upright: it must touch"


def test_more_offset_takes_from_the_inside_and_gives_to_the_outside() -> None:
    field, screened = _screened(measured_by_hand(), widths="8 to 9 in", offsets="25 to 45 mm")
    inside = screened.middle[:, screened.keys.index((UPRIGHT, "rear.right"))]
    outside = screened.middle[:, screened.keys.index((ARCH, "rear.right"))]
    rows: dict[tuple[str, float], list[int]] = {}
    by_offset: dict[tuple[str, float], list[int]] = {}
    for i, c in enumerate(field.candidates):
        rows.setdefault((c.tyre.id, round(c.rim_width, 5)), []).append(i)
        by_offset.setdefault((c.tyre.id, round(c.offset, 5)), []).append(i)
    for row in rows.values():
        row.sort(key=lambda i: field.candidates[i].offset)
        assert np.all(np.diff(inside[row]) < 0)
        assert np.all(np.diff(outside[row]) >= -1e-9)
    for column in by_offset.values():
        column.sort(key=lambda i: field.candidates[i].rim_width)
        assert np.all(np.diff(inside[column]) < 0)
        assert np.all(np.diff(outside[column]) <= 1e-9)


def test_offers_agree_with_a_full_examination(by_hand: WhatFits) -> None:
    opened = measured_by_hand()
    scope = axle_scope(opened.registry, opened.build.blends, "rear")
    assert len(by_hand.offers) >= 3
    for offer in by_hand.offers:
        state = by_hand.field.start.after(offer.candidate.changes)
        whole = measured_by_hand().examine(state, draws=1024)
        rows = [
            i for i, f in enumerate(whole.findings) if scope.bears_on(f) and f.chance is not None
        ]
        joint = float(np.mean(np.all(whole.margins[rows] >= 0, axis=0)))
        assert offer.joint == joint
        assert offer.screened == pytest.approx(joint, abs=0.1)
        assert offer.binds is not None
        assert offer.binds.chance == min(whole.findings[i].chance or 0.0 for i in rows)
        assert {f.verdict for f in offer.open} <= set(Verdict) - {Verdict.ENOUGH}
    for alike in (False, True):
        chances = [round(o.joint, 2) for o in by_hand.offers if (o.beside is not None) is alike]
        assert chances == sorted(chances, reverse=True)


def test_nothing_in_the_screen_beats_what_is_offered(by_hand: WhatFits) -> None:
    best = by_hand.screened.joint.max()
    assert max(o.screened for o in by_hand.offers) == best


BARREL = "corners.caliper_barrel_gap"


def test_a_wheel_as_found_counts_against_the_caliper_that_is_changed_inside_it() -> None:
    """The four-piston caliper of the plan does not go into the standard 16 inch wheel."""
    found = measured_by_hand().what_fits("front", draws=256, sizes="205/50 R16")
    offer = found.offers[0]
    assert offer.beside == 17
    assert BARREL in {f.check for f in offer.short}
    assert offer.joint == 0.0 == offer.clears
    said = what_fits_text(found, "metric")
    row = said[said.index("  1  Plover standard wheel") :]
    assert "SHORT: caliper" in row.partition("\n\n")[0]
    assert "  0  " in row.partition("\n")[0]
    assert "SHORT: caliper to the rim's barrel" in what_fits_text(found, "metric", every=True)


def test_what_rests_on_a_guess_comes_after_what_does_not_at_the_same_chance() -> None:
    opened = open_build(fitting.EXAMPLES / "plover_saturdays")
    found = opened.what_fits(
        "front", draws=256, widths="8, 9 in", offsets="32 mm", sizes="235/40 R17"
    )
    assert len({round(o.joint, 2) for o in found.offers}) == 1
    guessed = [len(o.guessed) for o in found.offers]
    assert guessed[0] == 0 < guessed[-1]
    said = what_fits_text(found, "metric")
    assert "3 by a guess" in said
    assert "someone can be hurt: wheel load rating" in said


def test_a_wheel_of_another_diameter_than_the_other_axle_comes_last_and_says_so() -> None:
    found = measured_by_hand().what_fits(draws=256, sizes="205/50 R16, 235/40 R17")
    beside = [o.beside for o in found.offers]
    assert beside == sorted(beside, key=lambda code: code is not None)
    assert set(beside) == {None, 17}
    first, last = found.offers[0], replace(found.offers[-1], joint=1.0)
    assert sorted([last, first], key=lambda o: _rank(o, "roomiest")) == [first, last]
    said = what_fits_text(found, "metric")
    assert "this is the rear alone; the other end: --axle front" in said
    assert "beside 17" in said
    assert "beside wheels of 17 inch" in what_fits_text(found, "metric", every=True)


def test_the_planned_pair_stands_beside_the_offers_and_what_it_replaces_is_none_of_them() -> None:
    opened = open_build(fitting.EXAMPLES / "plover_saturdays")
    found = opened.what_fits("rear", draws=256)
    state = opened.state("finished")
    mine, old = found.as_planned, found.as_found
    assert mine is not None
    assert old is not None
    for offer, fitted in ((mine, state.fitted), (old, state.base_fitted)):
        on = {fitted["wheel.rear.left"], fitted["tyre.rear.left"]}
        assert {offer.candidate.wheel.id, offer.candidate.tyre.id} == on
    assert old.candidate not in [offer.candidate for offer in found.offers]
    # the same car, examined as it is planned
    assert mine.joint == _joint_of_plan(found, mine)
    said = what_fits_text(found, "metric")
    assert re.search(r"^ *now +Plover standard wheel", said, re.MULTILINE)
    ranked = mine.candidate in [offer.candidate for offer in found.offers]
    assert bool(re.search(r"^ *plan +Loft", said, re.MULTILINE)) is not ranked
    # a search by a family in which it is not says nothing of it
    other = opened.what_fits("rear", draws=64, widths="9 in", sizes="225/45 R17")
    assert other.as_planned is None
    assert other.as_found is None


def test_who_has_planned_another_diameter_is_offered_that_before_the_rims_that_come_off() -> None:
    opened = open_build(fitting.EXAMPLES / "plover_saturdays")
    found = opened.what_fits("rear", draws=64)
    fitted = opened.state("finished").fitted["wheel.rear.left"]
    planned = opened.build.parts[fitted]  # type: ignore[index]
    old = found.as_found.candidate.wheel.part  # type: ignore[union-attr]
    assert old.diameter_code != planned.diameter_code  # type: ignore[attr-defined]
    codes = [getattr(o.candidate.wheel.part, "diameter_code", None) for o in found.offers]
    assert set(codes) == {planned.diameter_code}  # type: ignore[attr-defined]
    same = found.as_planned.candidate  # type: ignore[union-attr]
    if same not in [o.candidate for o in found.offers]:
        rows = re.findall(r"^ *(plan|\d|now) ", what_fits_text(found, "metric"), re.MULTILINE)
        assert rows[0] == "plan"


def _joint_of_plan(found: WhatFits, mine: Offer) -> float:
    keys = {(f.check, f.subject) for f in mine.bearing if f.chance is not None}
    same = [f for f in found.planned.findings if (f.check, f.subject) in keys]
    return joint_of(found.planned, same)


def test_the_planned_tyre_is_short_and_others_are_not(by_hand: WhatFits) -> None:
    """What the demo is about: the 245 touches at full bump; 235 or more offset does not."""
    assert by_hand.planned.finding(ARCH, "rear.left").verdict is Verdict.SHORT
    offered = [o.candidate for o in by_hand.offers]
    assert any(c.size == "235/40 R17" for c in offered)
    for offer in by_hand.offers:
        if offer.joint < 0.5:
            continue
        candidate = offer.candidate
        assert candidate.size != "245/40 R17" or candidate.offset > 0.0305
        assert offer.examination.finding(ARCH, "rear.left").verdict is not Verdict.SHORT
    own = measured_by_hand().what_fits(draws=1024, sizes="235/40 R17, 245/40 R17")
    shod = {(o.candidate.wheel.id, o.candidate.size) for o in own.offers}
    assert ("loft_17x85_et38", "235/40 R17") in shod


def test_what_else_moves_is_said(by_hand: WhatFits) -> None:
    offer = next(o for o in by_hand.offers if o.candidate.size == "235/40 R17")
    figures = {f.what: f for f in offer.moves.figures}
    # 1889 against 1914 mm rolled in one turn: the rear wheels, which the speedometer counts,
    # turn more, so that it reads 1914/1889 − 1 = 1.32 % more
    assert figures["speed reading"].change == pytest.approx(1914 / 1889 - 1, abs=2e-4)
    shift = offer.candidate.offset - 0.030
    assert figures["track between wheel centres"].change == pytest.approx(-2 * shift, abs=1e-4)
    assert any(t.check == ARCH for t in offer.moves.turned)


def test_lists_of_a_shop(tmp_path: Path) -> None:
    rims, tyres = tmp_path / "rims.csv", tmp_path / "tyres.csv"
    rims.write_text(
        "size;ET;PCD;bore;load rating (kg);seat;seat depth (mm);spoke depth (mm);"
        "barrel radius (mm);valve\n"
        "8,5Jx17;36;4x100;67,1;690;cone 60;17;47;203,5;clamp-in\n"
        "8,5Jx17;20;4x100;67,1;690;cone 60;17;57;203,5;clamp-in\n"
        "8Jx17;38;4x108;67,1;690;cone 60;17;44;203,5;clamp-in\n"
        "8Jx17;36;4x100;72,6;690;cone 60;17;47;203,5;clamp-in\n",
        encoding="utf-8",
    )
    tyres.write_text("size,mass (kg)\n235/40 R17 90W,9.5\n215/45 R17 87W,8.8\n", encoding="utf-8")
    found = measured_by_hand().what_fits(rims=rims, tyres=tyres, draws=1024)
    assert len(found.field.candidates) == 8
    at = {
        c.wheel.origin: i for i, c in enumerate(found.field.candidates) if c.size == "235/40 R17"
    }

    def chance(row: int, check: str) -> float:
        column = found.screened.keys.index((check, "rear.left"))
        return float(found.screened.chance[at[f"rims.csv row {row}"], column])

    assert chance(4, "corners.bolt_circle") == 0.0
    assert chance(2, "corners.bolt_circle") == 1.0
    assert chance(3, ARCH) == 0.0, "17 mm further out than row 2"
    assert chance(2, ARCH) > 0.9
    assert chance(5, "corners.centring_ring") == 1.0, "with the ring that goes with it"
    extras = [c.extras for c in found.field.candidates if c.wheel.origin == "rims.csv row 5"]
    assert extras[0] == ("centring ring 72.6 to 54.1 mm",)
    assert found.offers[0].candidate.wheel.origin != "rims.csv row 4"


def test_what_a_list_does_not_say_is_named_and_not_passed(tmp_path: Path) -> None:
    rims = tmp_path / "rims.csv"
    rims.write_text("size,ET\n8.5x17,36\n", encoding="utf-8")
    offer = measured_by_hand().what_fits(rims=rims, draws=256).offers[0]
    for fact in ("bolt_circle", "hub_bore", "load_rating", "spoke_depth"):
        assert f"wheel.rear.left.{fact}" in " ".join(offer.unmeasured)
    unmeasured = {f.check for f in offer.open if f.verdict is Verdict.UNMEASURED}
    assert {"corners.bolt_circle", "corners.wheel_load"} <= unmeasured


def test_a_generated_wheel_is_never_enough_where_it_is_assumed(by_hand: WhatFits) -> None:
    generated = [
        o for o in by_hand.offers if o.candidate.wheel.origin.startswith("generated")
        and abs(o.candidate.offset - 0.030) > 1e-4
    ]  # fmt: skip
    assert generated
    for offer in generated:
        for check in ("corners.wheel_load", "corners.caliper_barrel_gap"):
            assert offer.examination.finding(check, "rear.left").verdict is not Verdict.ENOUGH


def test_spacer_and_camber_are_settings_of_the_choice() -> None:
    field, screened = _screened(
        measured_by_hand(), widths="8.5 in", offsets="38 mm", spacer="0, 8 mm", sizes="245/40 R17",
        camber="-3, -2 deg",
    )  # fmt: skip
    at = screened.keys.index((ARCH, "rear.left"))
    room = {
        (c.spacer, round(float(np.degrees(c.camber or 0.0)))): screened.middle[i, at]
        for i, c in enumerate(field.candidates)
    }
    assert len(room) == 4
    # 8 mm further out; and one degree leans the top in by about 371 mm·sin(1°) = 6.5 mm
    assert room[0.008, -2] - room[0.0, -2] == pytest.approx(-8e-3, abs=0.3e-3)
    assert 3e-3 < room[0.0, -3] - room[0.0, -2] < 9e-3


def test_the_window_shows_the_same_as_the_screen(by_hand: WhatFits) -> None:
    window = by_hand.window
    assert window is not None
    assert window.chance.shape == (len(window.widths), len(window.offsets))
    best = by_hand.offers[0].candidate
    row = int(np.argmin(np.abs(window.widths - best.rim_width)))
    column = int(np.argmin(np.abs(window.offsets - best.offset)))
    assert window.chance[row, column] >= by_hand.offers[0].screened - 0.05
    # further out the arch binds, further in the upright or the spokes
    clear = np.flatnonzero(window.chance[row] >= 0.95)
    if clear.size:
        assert np.all(np.diff(clear) == 1), "one window, without holes"
    left = window.regions[window.binding[row, 0]].check
    right = window.regions[window.binding[row, -1]].check
    assert left in (ARCH, "law.track_width", "law.wheel_offset", "corners.tyre_arch_gap")
    assert right in (UPRIGHT, "corners.caliper_spoke_gap", "corners.tyre_arm_gap")


def test_the_picture_names_what_binds_and_needs_no_colour(by_hand: WhatFits) -> None:
    window = by_hand.window
    assert window is not None
    svg = window_svg(window)
    words = " ".join(svg.replace("</text>", " ").split())
    named = [r.title for r in window.regions if r.title.split()[0] in words]
    assert len(named) >= 3
    for fill in ("fit-few", "fit-some", "fit-most"):
        assert f"url(#{fill})" in svg
    assert f">{LEVELS[1] * 100:.0f}</text>" in svg
    assert "offset, in" in window_svg(window, "us")
    assert window_words(window).count(";") == len(window.rows)


def test_tyres_go_up_where_one_rim_width_is_asked() -> None:
    found = measured_by_hand().what_fits(
        widths="8.5 in", offsets="34 to 40 mm", draws=256, offer=1
    )
    assert found.window is not None
    assert found.window.up == "tyre width"
    assert np.all(np.diff(found.window.widths) > 0)


def test_a_scanned_corner_counts() -> None:
    """What the fast screen cannot lay out is run before anything is offered."""
    found = scanned().what_fits(widths="8.5 in", offsets="34 to 42 mm", draws=1024, offer=2)
    for offer in found.offers:
        checks = {f.check for f in offer.bearing}
        assert "corners.swept_gap" in checks
        assert offer.screened == pytest.approx(offer.joint, abs=0.12)


def test_proposed_parts_leave_the_folder_alone() -> None:
    opened = measured_by_hand()
    start = opened.state()
    part = make_part("wheel", {"rim_width": "9 in", "offset": "20 mm"})
    known = with_proposed(start, [Proposed("a wheel", part, HowKnown.CATALOGUE, "here")])
    shod = known.after([Change("fit", "wheel.rear", "a wheel")])
    assert shod.fitted["wheel.rear.left"] == "a wheel"
    assert "a wheel" not in start.build.parts
    assert known.build.inputs_hash == start.build.inputs_hash
    with pytest.raises(ChangeRefused, match="no part"):
        start.after([Change("fit", "wheel.rear", "a wheel")])
    with pytest.raises(ChangeRefused, match="taken"):
        with_proposed(start, [Proposed("loft_17x8", part, HowKnown.CATALOGUE, "here")])
    with pytest.raises(ChangeRefused, match="offset"):
        make_part("wheel", {"offset": "20"})


@pytest.mark.parametrize(
    ("text", "count", "last"),
    [
        ("7.5 to 9 in", 4, 9 * 0.0254),
        ("9 to 7.5 in", 4, 9 * 0.0254),
        ("8 in", 1, 8 * 0.0254),
        ("8, 8.5, 9 in", 3, 9 * 0.0254),
        ("200 to 230 mm by 10 mm", 4, 0.230),
    ],
)
def test_families_are_written_plainly(text: str, count: int, last: float) -> None:
    found = families.read_spread(text, "length", families.HALF_INCH, what="rim widths").values
    assert len(found) == count
    assert found[-1] == pytest.approx(last)


@pytest.mark.parametrize("text", ["", "25 to 45", "wide", "1 to 2 to 3 mm", "0 to 9 m by 0 mm"])
def test_a_family_that_cannot_be_read_says_so(text: str) -> None:
    with pytest.raises(ChangeRefused, match="offsets: "):
        families.read_spread(text, "length", families.MM, what="offsets")


def test_a_family_without_end_is_refused() -> None:
    with pytest.raises(ChangeRefused, match="at most"):
        families.read_spread("0 to 9 m", "length", families.MM, what="offsets")


def test_standard_sizes_are_near_and_permitted() -> None:
    found = families.standard_sizes(rim_code=16, diameter=0.6060, rim_widths=[6.5 * 0.0254])
    sizes = {m.size for m in found}
    assert {"205/50 R16", "195/55 R16", "215/50 R16"} <= sizes
    assert "205/55 R16" not in sizes, "406 + 2·113 = 632 mm, 4.3 % more"
    assert "245/40 R16" not in sizes, "its narrowest rim is wider than 6.5 in"
    for marking in found:
        diameter = 406 + 2 * round(marking.section_width_mm * marking.aspect_percent / 100 + 1e-9)
        assert abs(diameter / 606 - 1) <= 0.041
    assert families.standard_sizes(rim_code=11.5, diameter=0.6, rim_widths=[0.2]) == []


def test_a_generated_wheel_carries_over_what_may_be() -> None:
    start = measured_by_hand().state()
    like = _of_folder(start, "loft_17x85")
    (same,) = families.generated_wheels(like, codes=[17], widths=[8.5 * 0.0254], offsets=[0.030])
    part: Any = same.part
    known: Any = start.build.parts["loft_17x85"]
    assert part.spoke_depth == known.spoke_depth
    (other,) = families.generated_wheels(like, codes=[18], widths=[9 * 0.0254], offsets=[0.035])
    part = other.part
    assert part.hub_bore.median == pytest.approx(0.0671)
    for name in ("spoke_depth", "barrel_inner_radius", "load_rating", "mass"):
        assert getattr(part, name).how is HowKnown.ASSUMED, name
    # half an inch wider moves the outer lip out by 6.35 mm, 5 mm more offset takes 5 mm back
    assert part.spoke_depth.median == pytest.approx(0.049 + 0.00635 - 0.005, abs=1e-6)
    assert part.barrel_inner_radius.median == pytest.approx(0.2035 + 0.0127)


def test_a_generated_tyre_says_which_service_to_ask_for() -> None:
    start = measured_by_hand().state()
    like = _of_folder(start, "sallow_245_40")
    tyre: Any = families.generated_tyre(parse_marking("255/40 R17"), like).part
    assert tyre.marking == "255/40 R17 91W"
    assert tyre.mass.how is HowKnown.ASSUMED
    assert families.generated_tyre(parse_marking("255/40 R17 94Y XL"), like).part.name


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ({"axle": "middle"}, "front or rear"),
        ({"widths": "wide"}, "rim widths"),
        ({"sizes": "245/40"}, "245/40"),
        ({"sizes": ","}, "no tyre size"),
        ({"sizes": "205/60 R15", "rims": None, "widths": None}, "no tyre has the diameter code"),
        ({"spacer": "-3 mm"}, "cannot be"),
        ({"widths": "5 to 20 in by 0.01 in", "offsets": "0 to 60 mm", "sizes": "all"}, "narrow"),
    ],
)
def test_what_cannot_be_asked_is_refused(wanted: dict[str, Any], said: str) -> None:
    opened = measured_by_hand()
    asked = Wanted(**wanted)
    with pytest.raises(ChangeRefused, match=said):
        opened.what_fits(**{"axle": asked.axle, **{k: v for k, v in wanted.items() if k != "axle"}})


def test_room_is_unbounded_only_without_doubt(by_hand: WhatFits) -> None:
    sure = by_hand.planned.finding("corners.bolt_count", "rear.left")
    assert room_of(sure) == float("inf")
    assert room_of(by_hand.planned.finding(ARCH, "rear.left")) < 0


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page = tmp_path / "fits.html"
    folder = str(measured_by_hand().build.root)
    asked = ["what-fits", folder, "--draws", "256", "--offer", "2", "--offsets", "34 to 40 mm"]
    assert main([*asked, "--page", str(page)]) == 0
    said = capsys.readouterr().out
    assert "what fits at the rear" in said
    assert "least gap (wanted)" in said
    assert "binds:" not in said, "a line for each; the rest with --all"
    assert main([*asked, "--all"]) == 0
    whole = capsys.readouterr().out
    assert "all checks at once" in whole
    assert "binds:" in whole
    paper = page.read_text(encoding="utf-8")
    assert "<svg" in paper
    assert paper.count('data-head="least gap (wanted)"') == 2
    assert "drawn up from the first of the list" in paper
    assert main([*asked, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["format"] == 1
    assert len(data["offers"]) == 2
    assert data["offers"][0]["binds"]["chance"] is not None
    assert len(data["window"]["chance"]) == len(data["window"]["rows"])


def test_the_command_says_what_it_cannot_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "rims.csv"
    bad.write_text("size,offset\n17x8,wide\n", encoding="utf-8")
    assert main(["what-fits", str(DEMO), "--rims", str(bad)]) == 2
    said = capsys.readouterr().err
    assert "rims.csv:2  offset" in said
    assert main(["what-fits", str(DEMO), "--must-fit"]) == 2
    assert "--tyre" in capsys.readouterr().err
    assert main(["what-fits", str(DEMO), "--tyre", "245/40 R17"]) == 2
    assert main(["what-fits", str(DEMO), "--tyre", "x", "--must-fit", "--sizes", "all"]) == 2
    assert "--sizes" in capsys.readouterr().err


def test_a_chance_under_the_picture_says_of_what_it_is_the_chance() -> None:
    title = "speed reading not below true speed"
    window: Any = SimpleNamespace(alike=(Alike("law.speed", title, 0.8779),))
    assert alike_words(window) == [
        f"the same all over the picture, so not in it: {title}: enough 88 in 100"
    ]


def test_the_names_of_two_marks_that_lie_close_do_not_stand_on_each_other(
    by_hand: WhatFits,
) -> None:
    window = by_hand.window
    assert window is not None
    middle = (float(window.offsets[len(window.offsets) // 2]), float(window.widths[0]))
    high = {}
    for words, best in (("near", middle), ("far", (middle[0], float(window.widths[-1])))):
        svg = window_svg(replace(window, planned=middle, best=best))
        high[words] = [
            float(re.search(rf'y="([0-9.]+)"[^>]*>{name}</text>', svg)[1])  # type: ignore[index]
            for name in ("as planned", "best of the list")
        ]
    assert high["near"][1] - high["near"][0] > 20
    assert high["far"][1] < high["far"][0]
