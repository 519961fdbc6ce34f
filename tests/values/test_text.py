"""What is written, and what it means."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drybuild.values import (
    KINDS,
    AmbiguousUnit,
    DashSizeFault,
    HowKnown,
    MethodFault,
    UnitFault,
    ValueFault,
    method_doubt,
    method_named,
    methods_for,
    parse_value,
    show_value,
    typed_number,
    typed_whole,
    unit_of,
)
from drybuild.values import spellings as table

DEG = math.pi / 180


def test_every_kind_reads_its_example_and_shows_its_units():
    for kind in KINDS.values():
        value = parse_value(True if kind.name == "match" else kind.example, kind.name)
        assert math.isfinite(value.median)
        for label, _ in (*kind.metric, *kind.us):
            unit_of(label, kind.name)


def test_every_spelling_is_known_to_the_units_library():
    kinds = {kind.family: kind.name for kind in KINDS.values()}
    kinds["pressure"] = "pressure_difference"
    for family, spelt in table.FAMILIES.items():
        for spelling in spelt:
            unit = unit_of(spelling, kinds[family])
            assert unit.factor > 0.0, (family, spelling)


def test_no_spelling_is_both_read_and_refused():
    for family, spelling in (*table.TRAPS, *table.AMBIGUOUS):
        assert spelling not in table.FAMILIES.get(family, {}), (family, spelling)


@pytest.mark.parametrize(
    ("text", "kind", "centre", "half"),
    [
        ("62 ± 2 mm", "length", 0.062, 0.002),
        ("62 +/- 2 mm", "length", 0.062, 0.002),
        ("62+/-2mm", "length", 0.062, 0.002),
        ("62 mm ± 2", "length", 0.062, 0.002),
        ("62 mm ± 2 mm", "length", 0.062, 0.002),
        ("62 mm ± 0.1 in", "length", 0.062, 0.00254),
        ("62 mm ± 3 %", "length", 0.062, 0.00186),
        ("−0.5 ± 0.2 deg", "angle", -0.5 * DEG, 0.2 * DEG),
        ("1 deg 30 min ± 10 min", "angle", 1.5 * DEG, DEG / 6),
        ("-0°45' ± 5'", "angle", -0.75 * DEG, DEG / 12),
        ("1°30'30\" ± 1'", "angle", (1.5 + 30 / 3600) * DEG, DEG / 60),
        ("11/16 ± 1/64 in", "length", 11 / 16 * 0.0254, 0.0254 / 64),
        ("1 1/2 ± 1/16 in", "length", 0.0381, 0.0254 / 16),
        ("1-1/2\" ± 0.5 mm", "length", 0.0381, 0.0005),
        ("1½ ± 0.1 in", "length", 0.0381, 0.00254),
        ("-1 1/2 ± 0.1 in", "length", -0.0381, 0.00254),
        ("85 ± 3 %", "fraction", 0.85, 0.03),
        ("85 % ± 3 %", "fraction", 0.85, 0.03),
        ("0.85 ± 0.03", "fraction", 0.85, 0.03),
        ("0.85 ± 3 %", "ratio", 0.85, 0.0255),
        ("25 ± 3 °C", "temperature", 298.15, 3.0),
        ("77 ± 9 °F", "temperature", 298.15, 5.0),
        ("40 ± 5 °C", "temperature_difference", 40.0, 5.0),
        ("72 ± 9 °F", "temperature_difference", 40.0, 5.0),
        ("1.3 ± 0.1 bar gauge", "pressure_gauge", 1.3e5, 1e4),
        ("1.3 bar gauge ± 0.1 bar", "pressure_gauge", 1.3e5, 1e4),
        ("1.3 barg ± 5 %", "pressure_gauge", 1.3e5, 6.5e3),
        ("92 ± 1 kPa absolute", "pressure_absolute", 92e3, 1e3),
        ("3 ± 0.1 bar", "pressure_difference", 3e5, 1e4),
        ("240 ± 10 Nm", "torque", 240.0, 10.0),
        ("6000 ± 60 rpm", "rotation_speed", 200 * math.pi, 2 * math.pi),
        ("8 ± 0.1 kg/mm", "spring_rate", 78453.2, 980.665),
        ("12.5 ± 0.2 AFR petrol", "lambda", 12.5 / 14.7, 0.2 / 14.7),
        ("3.9:1 ± 1 %", "ratio", 3.9, 0.039),
    ],
)
def test_a_figure_with_its_doubt(text, kind, centre, half):
    value = parse_value(text, kind)
    assert value.centre == pytest.approx(centre, rel=1e-12)
    assert value.half_width == pytest.approx(half, rel=1e-9)
    assert value.text == text


def test_a_range_has_hard_edges():
    value = parse_value("55 to 65 mm", "length")
    assert (value.shape, value.low, value.high) == ("uniform", 0.055, 0.065)
    assert parse_value("55 mm to 6.5 cm", "length").high == pytest.approx(0.065)
    assert parse_value("20 to 30 °C", "temperature").low == pytest.approx(293.15)


def test_miles_per_gallon_turn_a_range_round():
    value = parse_value("30 to 34 mpg US", "fuel_use")
    assert value.low < value.high
    assert value.high == pytest.approx(parse_value("30 mpg US", "fuel_use").centre)


@pytest.mark.parametrize(
    ("text", "kind", "kinds_of_fault", "says"),
    [
        ("62", "length", UnitFault, "mm"),
        ("62 mmm", "length", UnitFault, "Nearest right unit: mm"),
        ("25 mn", "length", UnitFault, "Nearest right unit: mm."),
        ("25 cn", "length", UnitFault, "Nearest right unit: cm."),
        ("62 MM", "length", UnitFault, "Write mm"),
        ("240 nm", "torque", UnitFault, "nanometre"),
        ("240 J", "torque", UnitFault, "not energy"),
        ("240 Nm", "energy", UnitFault, "Write J"),
        ("240 Nm", "length", UnitFault, "newton metre"),
        ("50 Hz", "rotation_speed", UnitFault, "60 rpm"),
        ("3000 rpm", "frequency", UnitFault, "Hz"),
        ("2 bar", "pressure_gauge", AmbiguousUnit, "bar absolute"),
        ("2 bar", "pressure_absolute", AmbiguousUnit, "bar gauge"),
        ("2 bar absolute", "pressure_gauge", UnitFault, "what the gauge shows"),
        ("2 psig", "pressure_absolute", UnitFault, "barometer"),
        ("2 bar gauge", "pressure_difference", UnitFault, "neither gauge nor absolute"),
        ("300 whp", "power", UnitFault, "at the wheels"),
        ("10 gal", "volume", AmbiguousUnit, "imperial gal"),
        ("60 gph", "flow_volume", AmbiguousUnit, "US gal/h"),
        ("30 mpg", "fuel_use", AmbiguousUnit, "mpg imperial"),
        ("3 t", "mass", AmbiguousUnit, "short ton"),
        ("3 oz", "volume", AmbiguousUnit, "fl oz"),
        ("12.5 AFR", "lambda", UnitFault, "fuel"),
        ("12.5:1", "lambda", UnitFault, "fuel"),
        ("9.8 AFR e85", "lambda", ValueFault, "lambda"),
        ("50 lb/h", "flow_volume", UnitFault, "test fluid"),
        ("500 cc", "flow_volume", UnitFault, "time"),
        ("2 kg", "force", UnitFault, "kgf"),
        ("200 N", "mass", UnitFault, "force"),
        ("8K", "spring_rate", UnitFault, "8 kgf/mm"),
        ("3 mm", "angle", UnitFault, "diameter"),
        ("90 dB", "sound_level", UnitFault, "A-weighted"),
        ("5 psi", "torque", UnitFault, "unit of pressure"),
        ("-6 AN", "length", DashSizeFault, "not a bore"),
        ("AN8 hose", "length", DashSizeFault, "10.3 mm"),
        ("6 AN", "length", DashSizeFault, "7.9 mm"),
        ("1,234 mm", "length", ValueFault, "'1.234 mm', or '1234 mm'"),
        ("62 ± 1,250 mm", "length", ValueFault, "thousands"),
        ("1,234,567 km", "distance", ValueFault, "1234567 km"),
        ("1.234,5 mm", "length", ValueFault, "Write a point for decimals"),
        ("1,234.5 mm", "length", ValueFault, "1234.5 mm"),
        ("1,200 rpm", "rotation_speed", ValueFault, "1200 rpm"),
        ("about 62 mm", "length", ValueFault, "±"),
        ("55-65 mm", "length", ValueFault, "55 to 65 mm"),
        ("65 to 55 mm", "length", ValueFault, "lower to the higher"),
        ("> 0 mm", "length", ValueFault, "range"),
        ("1/0 in", "length", ValueFault, "fraction"),
        ("-3 kg", "mass", ValueFault, "negative"),
        ("-300 °C", "temperature", ValueFault, "absolute zero"),
        ("120 %", "fraction", ValueFault, "fraction"),
        ("1 deg 75 min", "angle", ValueFault, "60 minutes"),
        ("1 ± 2 ± 3 mm", "length", ValueFault, "one ±"),
        ("± 3 mm", "length", ValueFault, "before the ±"),
        ("62 ± -2 mm", "length", ValueFault, "not negative"),
        ("25 °C ± 3 %", "temperature", ValueFault, "where zero is"),
        ("1e999 mm", "length", ValueFault, "finite"),
        ("mm", "length", ValueFault, "no number"),
        ("", "length", ValueFault, "empty"),
        ("unknown", "length", ValueFault, "Leave the key out"),
        ("1 ± 0.5 %", "fraction", ValueFault, "the whole"),
        ("120 Euro", "money", ValueFault, "ISO 4217"),
    ],
)
def test_a_refusal_teaches(text, kind, kinds_of_fault, says):
    with pytest.raises(kinds_of_fault) as caught:
        parse_value(text, kind)
    assert says in str(caught.value)
    assert caught.value.found
    assert caught.value.expected


HUGE = 10**5000  # more digits than Python prints
ODD = [None, 62, 62.0, True, {}, [], ["1 mm"], [["1 mm"]], {"is": {}}, {"is": None}, b"62 mm",
       float("nan"), ("62 mm",), object(), 10**400, -HUGE, [10**400] * 3, {"is": HUGE},
       {"is": "62 mm", "plus_minus": 10**400}, {"is": "62 mm", "exact": HUGE},
       {"is": "62 mm", HUGE: 3}, {"is": "62 mm", "note": HUGE}, [HUGE, HUGE], {"is": [HUGE] * 4}]


@pytest.mark.parametrize("raw", [pytest.param(raw, id=f"odd {i}") for i, raw in enumerate(ODD)])
@pytest.mark.parametrize("kind", ["length", "ratio"])
def test_odd_entries_are_faults_never_tracebacks(raw, kind):
    if kind == "ratio" and raw in (62, 62.0):
        return
    with pytest.raises(ValueFault) as caught:
        parse_value(raw, kind)
    assert str(caught.value)


@given(st.text(max_size=40), st.sampled_from(sorted(KINDS)))
def test_any_text_is_read_or_refused(text, kind):
    fault = None
    try:
        value = parse_value(text, kind)
    except ValueFault as caught:
        fault = caught
    if fault is None:
        low, high = value.interval
        assert low <= high
    else:
        assert fault.expected
        assert len(str(fault)) < 2000


@given(st.text(alphabet="0123456789./-+±% to<>mMinbarg°'\"e,", max_size=25),
       st.sampled_from(["length", "angle", "fraction", "pressure_gauge", "fuel_use", "mass"]))
def test_any_near_miss_is_read_or_refused(text, kind):
    try:
        value = parse_value(text, kind)
    except ValueFault:
        return
    low, high = value.interval
    assert low <= value.median <= high


PLAIN = [kind for kind in KINDS.values() if kind.family not in ("money", "number")]


@given(st.sampled_from(PLAIN), st.floats(0.001, 0.999), st.floats(1e-4, 0.3), st.data())
def test_text_to_value_to_text(kind, size, rough, data):
    shown = data.draw(st.sampled_from([label for label, _ in (*kind.metric, *kind.us)]))
    unit = unit_of(shown, kind.name)
    si = unit.to_si(size * 100.0) if kind.high is None else size
    half = abs(si) * rough / 10
    if kind.high is not None:
        half = min(half, (1 - si) / 10, si / 10)
    number = f"{unit.from_si(si):.12g}"
    width = abs(unit.from_si(si) * half / si) if not unit.offset else half / unit.factor
    value = parse_value(f"{number} {shown} ± {width:.12g} {shown}", kind.name)
    assert value.centre == pytest.approx(si, rel=1e-9)
    assert value.half_width == pytest.approx(half, rel=1e-6)
    again = parse_value(show_value(value.centre, shown, kind.name), kind.name)
    assert again.centre == pytest.approx(value.centre, rel=1e-9)


@given(st.sampled_from(sorted(table.FAMILIES)), st.floats(1e-3, 1e6), st.data())
def test_units_round_trip(family, number, data):
    kinds = [k.name for k in KINDS.values() if k.family == family]
    kind = "pressure_difference" if family == "pressure" else kinds[0]
    unit = unit_of(data.draw(st.sampled_from(sorted(table.FAMILIES[family]))), kind)
    assert unit.from_si(unit.to_si(number)) == pytest.approx(number, rel=1e-9)


# Tables ---------------------------------------------------------------------------------------


def test_a_table_states_how_it_is_known():
    value = parse_value({"is": "62 mm", "by": "tape"}, "length", how="assumed")
    assert value.how is HowKnown.MEASURED
    assert value.half_width == pytest.approx(math.hypot(0.5e-3, 1.5e-3))
    assert value.bias == pytest.approx(0.5e-3)
    assert value.instrument == "instrument:tape/length"


def test_a_stated_doubt_wins_over_the_tool_but_keeps_the_shared_bias():
    value = parse_value({"is": "62 ± 3 mm", "by": "tape"}, "length")
    assert (value.half_width, value.bias) == pytest.approx((3e-3, 0.5e-3))
    fine = parse_value({"is": "62 mm", "by": "tape", "plus_minus": "0.2 mm"}, "length")
    assert (fine.half_width, fine.bias) == pytest.approx((0.2e-3, 0.2e-3))


def test_ways_of_knowing_come_in_order():
    kinds = ["assumed", "catalogue", "maker", "measured", "seen"]
    assert [HowKnown.named(k) for k in kinds] == sorted(HowKnown)
    assert parse_value({"is": "62 mm", "by": "maker"}, "length").how is HowKnown.MAKER
    seen = parse_value({"is": "62 mm", "by": "tape", "seen_by": "Ada"}, "length")
    assert seen.how is HowKnown.SEEN


def test_a_second_person_sees_measurements_only():
    with pytest.raises(ValueFault, match="measured"):
        parse_value({"is": "62 mm", "seen_by": "Ada"}, "length")


def test_default_doubts():
    assert parse_value("62 mm", "length", default_doubt="3 mm").half_width == 0.003
    assert parse_value("60 mm", "length", default_doubt="5 %").half_width == pytest.approx(0.003)
    assert parse_value("62 ± 1 mm", "length", default_doubt="3 mm").half_width == 0.001
    assert parse_value("1 bar gauge", "pressure_gauge", default_doubt="0.05 bar"
                       ).half_width == pytest.approx(5e3)
    assumed = parse_value("62 mm", "length", how="assumed", default_doubt="3 mm")
    assert assumed.half_width == pytest.approx(0.009)
    assert parse_value("0 mm", "length").half_width > 0.0
    assert parse_value("0 deg", "angle").half_width > 0.0
    assert parse_value(4, "number").exact


def test_exact_and_counted():
    assert parse_value({"is": "62 mm", "exact": True}, "length").exact
    assert parse_value({"is": 4, "by": "count"}, "number").exact


def test_a_copy_is_a_reference():
    value = parse_value({"same_as": "wheel.front.left.offset"}, "length")
    assert value.same_as == "wheel.front.left.offset"
    with pytest.raises(ValueError, match="resolved"):
        _ = value.median


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        ({"is": "62 mm", "bye": "tape"}, "Nearest right key: by"),
        ({"is": "62 mm", "by": "tap"}, "Nearest right word: tape"),
        ({"is": "62 mm", "by": "scales"}, "vernier"),
        ({"is": "62 ± 1 mm", "plus_minus": "1 mm"}, "once"),
        ({"is": "62 mm", "exact": True, "plus_minus": "1 mm"}, "one of the two"),
        ({"is": "62 mm", "exact": "yes"}, "true or false"),
        ({"is": "55 to 65 mm", "plus_minus": "1 mm"}, "its own doubt"),
        ({"is": "62 mm", "same_as": "x"}, "one of the two"),
        ({"by": "tape"}, "Give the figure"),
        ({"is": "62 mm", "plus_minus": 2}, "unit"),
        ({"is": "62 mm", "spread": ""}, "doubt"),
        ({"is": "62 mm", "how": "guessed"}, "assumed"),
        ({"is": "62 mm", "note": 3}, "a text"),
    ],
)
def test_faults_of_a_table(raw, says):
    with pytest.raises(ValueFault) as caught:
        parse_value(raw, "length")
    assert says in str(caught.value)


def test_every_method_states_doubts_that_read():
    for kind in KINDS:
        for name in methods_for(kind):
            raw = True if kind == "match" else re.sub(r" ± [\d.]+", "", KINDS[kind].example)
            parse_value({"is": raw, "by": name}, kind)


@pytest.mark.parametrize(
    ("words", "kind", "tool"),
    [("jack and tape", "length", "tape"), ("two tapes and a jack", "length", "tape"),
     ("tape measure", "length", "tape"), ("infrared thermometer", "temperature",
                                          "infrared thermometer"),
     ("four scales", "mass", "scales"), ("plumb line and rule", "length", "plumb line"),
     ("jack, camber gauge, tape", "angle", "camber gauge"), ("tap", "length", None),
     ("Calipers", "length", "vernier"), ("drill", "length", "drill shank"),
     ("drill", "mass", None),
     ("tapestry", "length", None), ("scales", "length", None), ("camber gauge", "length", None)],
)
def test_a_tool_is_found_among_other_words(words, kind, tool):
    assert method_named(words, kind) == tool
    if tool is not None:
        raw = {"is": re.sub(r" ± [\d.]+", "", KINDS[kind].example), "by": words}
        value = parse_value(raw, kind)
        assert value.by == tool
        bias, repeat = method_doubt(words, kind, value.centre)
        assert (value.bias, value.half_width) == pytest.approx((bias, math.hypot(bias, repeat)))


def test_a_figure_stamped_on_it_is_its_makers():
    assert method_named("stamp", "length") == "maker"
    value = parse_value({"is": "35 mm", "by": "Stamp"}, "length")
    assert value.how is HowKnown.MAKER


def test_a_method_that_does_not_suit_lists_those_that_do():
    with pytest.raises(MethodFault, match="scales") as caught:
        parse_value({"is": "9 kg", "by": "tape"}, "mass")
    assert "does not measure" in caught.value.hint


# Readings -------------------------------------------------------------------------------------


def test_repeated_readings():
    value = parse_value(["61 mm", "62.5 mm", "62 mm", "61 mm"], "length")
    assert (value.shape, value.dof, value.how) == ("readings", 3, HowKnown.MEASURED)
    assert value.centre == pytest.approx(0.061625)


def test_two_readings_need_a_named_tool():
    with pytest.raises(ValueFault, match="three or more"):
        parse_value(["61 mm", "62 mm"], "length")
    value = parse_value({"is": ["61 mm", "62 mm"], "by": "tape"}, "length")
    assert value.shape == "normal"
    assert value.half_width == pytest.approx(math.hypot(1.5e-3 / math.sqrt(2), 0.5e-3))


def test_equal_readings_are_not_exact():
    with pytest.raises(ValueFault, match="all the same"):
        parse_value(["61 mm"] * 5, "length")
    assert parse_value({"is": ["61 mm"] * 5, "by": "tape"}, "length").half_width > 0.5e-3


def test_more_readings_narrow_but_not_below_the_shared_bias():
    few = parse_value({"is": ["61 mm", "62 mm", "61.5 mm"], "by": "tape"}, "length")
    many = parse_value({"is": ["61 mm", "62 mm", "61.5 mm"] * 20, "by": "tape"}, "length")
    assert many.bias < many.half_width < few.half_width


@pytest.mark.parametrize(
    ("typed", "meant", "kind"),
    [
        ("52,5 mm", "52.5 mm", "length"),
        ("0,125 in", "0.125 in", "length"),
        ("1234,500 km", "1234.5 km", "distance"),
        ("2,2046 lb", "2.2046 lb", "mass"),
        ("62,5 ± 0,5 mm", "62.5 ± 0.5 mm", "length"),
        ("61,5 to 62,25 mm", "61.5 to 62.25 mm", "length"),
        ("-0,75 deg", "-0.75 deg", "angle"),
        ("> 7,5 mm", "> 7.5 mm", "length"),
        ("12,50 AUD", "12.50 AUD", "money"),
    ],
)
def test_a_comma_that_cannot_part_thousands_is_decimal(typed, meant, kind):
    found, expected = parse_value(typed, kind), parse_value(meant, kind)
    assert (found.interval, found.centre) == (expected.interval, expected.centre)


def test_repeated_readings_take_decimal_commas_too():
    assert parse_value(["61,5 mm", "62 mm", "61,8 mm"], "length").centre == pytest.approx(
        parse_value(["61.5 mm", "62 mm", "61.8 mm"], "length").centre
    )


@pytest.mark.parametrize(
    ("typed", "number"), [("1.5", 1.5), (" 1,5 ", 1.5), ("-.5", -0.5), ("2e-3", 0.002)]
)
def test_a_number_as_somebody_types_it(typed: str, number: float) -> None:
    assert typed_number(typed) == number


NO_NUMBER = ("1_5", "_1", "nan", "-inf", "1e999", "1,234", "1.5 h", "²", "１２", "0x1", "")


@pytest.mark.parametrize("typed", NO_NUMBER)
def test_what_a_program_would_take_for_a_number_and_nobody_else(typed: str) -> None:
    with pytest.raises(ValueFault) as refused:
        typed_number(typed)
    assert str(refused.value) == f"found {typed!r}; expected a number, such as 2.5"
    with pytest.raises(ValueFault, match="expected a whole number"):
        typed_whole(typed)


@pytest.mark.parametrize("typed", ["1_5 mm", "1_0.5 mm", "nan mm", "60 ± 1_0 mm", "5_0 to 60 mm"])
def test_no_figure_has_an_underscore(typed: str) -> None:
    with pytest.raises(ValueFault):
        parse_value(typed, "length")


def test_a_whole_number_as_somebody_types_it() -> None:
    assert typed_whole(" 12 ") == 12
    with pytest.raises(ValueFault):
        typed_whole("12.0")
