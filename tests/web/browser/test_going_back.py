"""What was typed into a refused form is there when one goes back, on, away and back again."""

from __future__ import annotations

import pytest


@pytest.fixture
def refused(own, visit):  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(own.address + "/measure")
    page.goto(own.address + "/measure/at/car.wheelbase", wait_until="load")
    page.fill("#reading", "12 parsecs")
    page.fill("#who", "Ilse")
    page.get_by_role("button", name="Write it down").click()
    page.get_by_role("alert").wait_for()
    return page


def _typed(page, wanted):  # type: ignore[no-untyped-def]
    there = "(said) => document.querySelector('#reading')?.value === said"
    page.wait_for_function(there, arg=wanted)


def test_back_on_and_away(own, refused) -> None:  # type: ignore[no-untyped-def]
    refused.go_back()
    _typed(refused, "12 parsecs")
    refused.get_by_text("What you typed stands here again").wait_for()
    refused.go_forward()
    refused.get_by_role("alert").wait_for()
    refused.goto(own.address + "/parts")
    refused.go_back()
    refused.get_by_role("alert").wait_for()
    _typed(refused, "12 parsecs")


def test_what_was_taken_does_not_come_back(own, refused) -> None:  # type: ignore[no-untyped-def]
    refused.fill("#reading", "2330")
    refused.get_by_role("button", name="Write it down").click()
    refused.get_by_role("heading", name="Written down").wait_for()
    refused.wait_for_function("() => !sessionStorage.getItem('drybuild:waiting')")
    refused.go_back()
    refused.get_by_role("alert").wait_for()
    refused.go_back()
    _typed(refused, "")


def test_a_refusal_without_the_form_leads_back_to_it(own, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(own.address + "/corner/rear/left")
    page.fill("#title", "one out")
    page.get_by_role("button", name="Keep as a draft").click()
    page.get_by_role("alert").wait_for()
    page.reload()
    page.get_by_role("alert").wait_for()
    page.go_back()
    page.wait_for_function("() => document.querySelector('#title')?.value === 'one out'")
