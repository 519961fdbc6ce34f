"""Limits of law and tables, held to what the texts print."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import numpy as np
import pytest

from drybuild.systems.law import evaluate, formulas
from drybuild.systems.law.rules import Registered, applies, rule_sets

Against = Callable[..., None]
KMH = 1 / 3.6
SLACK = "drybuild.systems.law.evaluate.slack_of"
LIMIT = "drybuild.systems.law.evaluate.limit_of"


def rule(set_id: str, rule_id: str):  # type: ignore[no-untyped-def]
    return next(r for r in rule_sets()[set_id].rule if r.id == rule_id)


def reach(set_id: str, rule_id: str, quantity: str, original: float) -> tuple[float, float]:
    """How far a value may go up and down from the original, found by the slack at the original.

    The slack at the original is the nearer limit; far above only the upper one binds.
    """
    what = evaluate.Original(original, original)
    found = rule(set_id, rule_id)

    def slack(x: float) -> float:
        return float(evaluate.slack_of(found, {quantity: x}, what))

    far = 10 * original
    return far + slack(far) - original, original - (-far - slack(-far))


@pytest.mark.authority
def test_highest_indication_row_for_row(against: Against) -> None:
    true = np.array([40, 50, 70, 80, 90, 100, 110, 120, 130.0]) * KMH
    got = evaluate.limit_of(rule("un-base", "r39-not-far-above"), {"true_speed": true}) / KMH
    against(
        LIMIT,
        got=got,
        expected=[48, 59, 81, 92, 103, 114, 125, 136, 147],
        abs=1e-9,
        source="UN R39 para 5.3, by ADR 18/03 appendix A",
        note="the rule is arithmetic: exact",
    )


@pytest.mark.authority
def test_lowest_true_speed_at_indicated_100(against: Against) -> None:
    found = rule("un-base", "r39-not-far-above")
    low, high = 60 * KMH, 100 * KMH
    for _ in range(60):
        middle = (low + high) / 2
        inside = evaluate.slack_of(found, {"indicated_speed": 100 * KMH, "true_speed": middle}) >= 0
        low, high = (low, middle) if inside else (middle, high)
    against(
        SLACK,
        got=high / KMH,
        expected=87.27,
        abs=0.005,
        source="UN R39 para 5.3 solved for the true speed: (100 − 4) / 1.1",
        note="half a digit of the printed value",
    )


@pytest.mark.authority
def test_a_motoring_leaflets_86_is_outside(against: Against) -> None:
    given = {"indicated_speed": 100 * KMH, "true_speed": 86 * KMH}
    slack = evaluate.slack_of(rule("un-base", "r39-not-far-above"), given)
    against(
        SLACK,
        got=float(slack) / KMH,
        expected=98.6 - 100,
        abs=0.05,
        source="UN R39 para 5.3: at true 86 km/h at most 98.6 km/h may be indicated",
        note="a printed leaflet gives 86 km/h as the limit; it is wrong",
    )


@pytest.mark.authority
def test_equal_speeds_are_allowed_and_less_is_not(against: Against) -> None:
    found = rule("un-base", "r39-never-below")
    true = 100 * KMH
    got = [
        bool(evaluate.slack_of(found, {"indicated_speed": v * KMH, "true_speed": true}) >= 0)
        for v in (99.9, 100.0, 100.1)
    ]
    against(
        SLACK,
        got=[float(g) for g in got],
        expected=[0.0, 1.0, 1.0],
        abs=1e-9,
        source="UN R39 para 5.3: 0 ≤ V1 − V2",
    )


@pytest.mark.authority
def test_south_australian_limits(against: Against) -> None:
    offset = reach("au-light-modified", "sa-offset", "wheel_offset", 0.045)[1]
    track = reach("au-light-modified", "sa-track", "track_width", 1.455)[0]
    up, down = reach("au-light-modified", "sa-tyre-diameter", "tyre_diameter", 0.612)
    against(
        SLACK,
        got=np.array([offset, track, up, down]) * 1000,
        expected=[13, 26, 15, 15],
        abs=1e-6,
        source="SA Road Traffic (Miscellaneous) Regulations 1999, s. 26; wheels and tyres page",
        note="limits are printed as whole mm and exact",
    )


@pytest.mark.authority
def test_south_australian_travel(against: Against) -> None:
    kept = reach("au-light-modified", "sa-travel", "suspension_travel", 0.180)[1]
    against(
        SLACK,
        got=kept / 0.180,
        expected=1 / 3,
        abs=1e-9,
        source="SA Road Traffic (Miscellaneous) Regulations 1999, s. 25",
    )


@pytest.mark.authority
def test_western_australian_track(against: Against) -> None:
    up = reach("au-light-modified", "wa-track", "track_width", 1.455)[0]
    against(
        SLACK,
        got=up * 1000,
        expected=25.0,
        abs=1e-6,
        source="Road Traffic (Vehicles) Regulations 2014 (WA), reg. 235 table item 4",
    )


@pytest.mark.authority
def test_western_australian_tyre_speed(against: Against) -> None:
    found = rule("au-light-modified", "wa-tyre-speed")
    least = [
        -float(
            evaluate.slack_of(
                found, {"tyre_speed": 0.0, "category": category, "top_speed": top * KMH}
            )
        )
        / KMH
        for category, top in (("M1", 230), ("M1", 160), ("M1G", 190), ("N1", 190), ("N1", 110))
    ]
    against(
        SLACK,
        got=least,
        expected=[180, 160, 140, 120, 110],
        abs=1e-9,
        source="Road Traffic (Vehicle Standards) Rules 2002 (WA), r. 46: the lesser of both",
    )


@pytest.mark.authority
def test_south_australian_tyre_speed(against: Against) -> None:
    found = rule("au-light-modified", "sa-tyre-speed")
    least = [
        -float(evaluate.slack_of(found, {"tyre_speed": 0.0, "category": category})) / KMH
        for category in ("M1", "M1G", "N1")
    ]
    against(
        SLACK,
        got=least,
        expected=[180, 140, 120],
        abs=1e-9,
        source="South Australia, wheels and tyres page: S, N and L",
    )


@pytest.mark.authority
def test_victorian_height_and_share_of_travel(against: Against) -> None:
    up, down = reach("au-light-modified", "vic-height", "ride_height", 1e-6)
    lowering = evaluate.limit_of(
        rule("au-light-modified", "vic-lowering"), {"original_bump_travel": 0.090}
    )
    against(
        SLACK,
        got=np.array([up, down, lowering]) * 1000,
        expected=[50, 50, 30],
        abs=1e-2,
        source="VicRoads VSI 8, October 2011, 13.2",
    )


@pytest.mark.authority
def test_victorian_offroad(against: Against) -> None:
    up = reach("au-light-modified", "vic-offroad-diameter", "tyre_diameter", 0.73)[0]
    lift = reach("au-light-modified", "vic-offroad-height", "ride_height", 1e-6)[0]
    against(
        SLACK,
        got=np.array([up, lift]) * 1000,
        expected=[50, 50],
        abs=1e-2,
        source="VicRoads VSI 8, October 2011, 13.3.1",
    )


@pytest.mark.authority
def test_new_south_wales(against: Against) -> None:
    up, down = reach("au-light-modified", "nsw-tyre-diameter", "tyre_diameter", 0.612)
    height = reach("au-light-modified", "nsw-height", "ride_height", 1e-6)[0]
    both = reach("au-light-modified", "nsw-combined-height", "body_height", 1e-6)[0]
    against(
        SLACK,
        got=[up / 0.612, down / 0.612, height, both],
        expected=[0.07, 0.07, 0.050, 0.075],
        abs=1e-5,
        source="NSW Light vehicle modifications manual: Suspension and ride height, v1.0, 2016",
    )


@pytest.mark.authority
def test_wheel_guards(against: Against) -> None:
    edge = rule("un-base", "guards-rear-edge")
    cover = rule("un-base", "guards-cover")
    got = [
        float(evaluate.slack_of(edge, {"guard_rear_edge": 0.0})),
        float(evaluate.slack_of(cover, {"tyre_cover": 0.0})),
    ]
    against(
        SLACK,
        got=got,
        expected=[0.150, 0.0],
        abs=1e-9,
        source="Regulation (EU) 1009/2010 annex II: total tyre width; 150 mm above the axis",
    )


@pytest.mark.authority
def test_dates_of_the_australian_speedometer_rule(against: Against) -> None:
    rules = rule_sets()["au-light-modified"]
    names = ("adr18-old-low", "adr18-old-high", "adr18-03-low", "adr18-03-high")
    days = (date(2006, 6, 30), date(2006, 7, 1), date(2007, 7, 1))
    got = tuple(
        " ".join(
            name
            for name in names
            if applies(rule(rules.id, name), rules, Registered("AU", "M1", None, day))
        )
        for day in days
    )
    against(
        "drybuild.systems.law.rules.applies",
        got=got,
        expected=("adr18-old-low adr18-old-high", *["adr18-03-low adr18-03-high"] * 2),
        source="RACQ fact sheet on ADR 18: ±10 % before 1 July 2006, ADR 18/03 from then",
    )


@pytest.mark.authority
def test_old_australian_speedometer_tolerance(against: Against) -> None:
    true = 100 * KMH
    high = evaluate.limit_of(rule("au-light-modified", "adr18-old-high"), {"true_speed": true})
    low = evaluate.limit_of(rule("au-light-modified", "adr18-old-low"), {"true_speed": true})
    against(
        LIMIT,
        got=[low / KMH, high / KMH],
        expected=[90.0, 110.0],
        abs=1e-9,
        source="RACQ fact sheet on ADR 18: ±10 % above 40 km/h before July 2006",
    )


@pytest.mark.authority
def test_load_index_for_an_1100_kg_axle(against: Against) -> None:
    found = rule("un-base", "r142-load")
    loads = {86: 530.0, 87: 545.0, 88: 560.0, 89: 580.0}  # load index table of UN R30, annex 4
    carries = [
        index
        for index, load in loads.items()
        if evaluate.slack_of(found, {"tyre_load": load, "axle_load_limit": 1100.0}) >= 0
    ]
    against(
        SLACK,
        got=float(min(carries)),
        expected=88.0,
        abs=1e-9,
        source="UN R142 para 5.2.2 (recalled) with the load index table: 87 is 545 kg, too little",
    )


@pytest.mark.authority
def test_noise_by_power_to_mass(against: Against) -> None:
    ratio = np.array([80.0, 120.0, 140.0, 160.0, 180.0])
    got = np.array(
        [
            -evaluate.slack_of(
                rule("un-base", f"r51-phase-{phase}"),
                {"pass_by_noise": np.full(5, 200.0), "power_to_mass": ratio},
            )
            for phase in (1, 2, 3)
        ]
    )
    against(
        SLACK,
        got=200 - got,
        expected=[[72, 72, 73, 73, 75], [70, 70, 71, 71, 73], [68, 68, 69, 69, 71]],
        abs=1e-9,
        source="Regulation (EU) 540/2014 annex III; UN R51.03 para 6.2.2 (recalled)",
        note="the bound of a class belongs to the class below: up to 120, up to 160",
    )


@pytest.mark.textbook
def test_true_speed_by_ratio_of_circumferences(against: Against) -> None:
    # counts turns: 1.8 % more road a turn is 1.8 % more speed at the same indication
    got = formulas.true_speed_after(true_speed=96.0 * KMH, reading_ratio=1 / 1.018)
    against(
        "drybuild.systems.law.formulas.true_speed_after",
        got=got / KMH,
        expected=97.728,
        abs=1e-9,
        source="hand computation: 96 × 1.018",
    )


@pytest.mark.textbook
def test_tyre_edge_by_hand(against: Against) -> None:
    got = formulas.tyre_outer_edge(section_width=0.225, offset=0.035, spacer=0.005)
    against(
        "drybuild.systems.law.formulas.tyre_outer_edge",
        got=got,
        expected=0.0825,
        abs=1e-12,
        source="hand computation from the definition of offset, ISO 4000-2: 112.5 − 35 + 5 mm",
    )


@pytest.mark.textbook
def test_tyre_edge_with_camber_by_hand(against: Against) -> None:
    # 112.5 − 35 − 200·sin 1° = 77.5 − 3.49 mm
    got = formulas.tyre_outer_edge(
        section_width=0.225, offset=0.035, camber=np.radians(-1.0), height=0.200
    )
    against(
        "drybuild.systems.law.formulas.tyre_outer_edge",
        got=got * 1000,
        expected=74.01,
        abs=0.005,
        source="hand computation with sin 1° = 0.01745 from a table",
        note="half a digit of the figures",
    )


@pytest.mark.authority
def test_sector_of_the_wheel_guard(against: Against) -> None:
    against(
        "drybuild.systems.law.formulas.sector_height",
        got=formulas.sector_height(free_radius=1.0),
        expected=0.6428,
        abs=5e-5,
        source="Regulation (EU) 1009/2010 annex II, 50° behind the wheel centre; cos 50° by table",
    )


@pytest.mark.authority
def test_power_to_mass_classes(against: Against) -> None:
    got = formulas.power_to_mass(power=150e3, mass_in_running_order=1250.0)
    against(
        "drybuild.systems.law.formulas.power_to_mass",
        got=got,
        expected=120.0,
        abs=1e-9,
        source="UN R51.03 para 2 (recalled): kW over tonnes",
    )


@pytest.mark.textbook
def test_lowered_by_hand(against: Against) -> None:
    against(
        "drybuild.systems.law.formulas.lowered",
        got=formulas.lowered(height=0.530, drop=0.030),
        expected=0.500,
        abs=1e-12,
        source="hand computation: 530 − 30 mm",
    )
