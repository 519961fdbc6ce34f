"""Lists in a file, from what is typed."""

from __future__ import annotations

import pytest

from drybuild.build.declared import declared_addresses
from drybuild.build.lists import is_list, list_typed


def named(address: str):  # type: ignore[no-untyped-def]
    return declared_addresses()[address]


@pytest.mark.parametrize(
    ("address", "so"),
    [
        ("identity.body_work", True), ("tank.wetted", True), ("gearbox.ratios", True),
        ("wheel.front.left.approvals", True), ("identity.chassis_number", False),
        ("car.wheelbase", False), ("turbo.map.lines", False), ("map.ethanol_sensor", False),
        ("corner.front.left.scan.things", False),
    ],
)  # fmt: skip
def test_a_list_is_no_quantity_no_table_and_no_curve(address: str, so: bool) -> None:
    assert is_list(named(address)) is so


def test_items_stand_on_lines_or_apart_by_semicolons() -> None:
    typed = " arch  lip rolled, report 12\n\ntow eye; x "
    items = ["arch lip rolled, report 12", "tow eye", "x"]
    assert list_typed(named("identity.body_work"), typed) == items
    assert list_typed(named("identity.body_work"), "") == []


def test_numbers_are_read_with_either_decimal_sign_and_what_is_none_stays() -> None:
    assert list_typed(named("gearbox.ratios"), "3.45\n1,95; one") == [3.45, 1.95, "one"]
