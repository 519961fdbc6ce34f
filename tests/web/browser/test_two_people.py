"""Two browsers at one build, and an app that dies while somebody types: nothing is lost."""

from __future__ import annotations

import re
import tomllib

from drybuild.journal import Journal

FACT = "site.temperature"
FORM = f"/set?address={FACT}"
READING = "/measure/at/site.temperature"


def _in_file(folder) -> str:  # type: ignore[no-untyped-def]
    stated = tomllib.loads((folder / "build.toml").read_text("utf-8"))["site"]["temperature"]
    return str(stated["is"] if isinstance(stated, dict) else stated)


def test_one_edits_and_the_other_sees_it_without_loading_again(own, visit) -> None:  # type: ignore[no-untyped-def]
    one, other = visit(), visit()
    other.goto(own.address + FORM)
    assert "31 ± 4 °C" not in other.inner_text("dl")
    one.goto(own.address + FORM)
    one.fill("#value", "31 ± 4 °C")
    one.get_by_role("button", name="Write it").click()
    one.get_by_role("status").filter(has_text="Written into build.toml").wait_for()
    other.locator("dl", has_text="31 ± 4 °C").wait_for()
    assert _in_file(own.folder) == "31 ± 4 °C"


def test_an_edit_that_crosses_another_is_refused_and_loses_nothing(own, visit) -> None:  # type: ignore[no-untyped-def]
    one, other = visit(), visit()
    for page in (one, other):
        page.goto(own.address + FORM)
    other.fill("#value", "12 ± 2 °C")
    one.fill("#value", "31 ± 4 °C")
    one.get_by_role("button", name="Write it").click()
    one.get_by_role("status").filter(has_text="Written into").wait_for()
    # who is typing is told, and is not interrupted
    told = other.get_by_role("status").filter(has_text="Changed meanwhile")
    told.wait_for()
    assert told.inner_text().startswith("Changed meanwhile: build.toml, on another screen")
    assert told.get_by_role("link", name="Load the page again").is_visible()
    assert other.input_value("#value") == "12 ± 2 °C"
    other.get_by_role("button", name="Write it").click()
    refusal = other.get_by_role("alert")
    refusal.filter(has_text="Changed meanwhile").wait_for()
    assert "31 ± 4 °C" in refusal.inner_text()
    assert "12 ± 2 °C" in refusal.inner_text()
    assert _in_file(own.folder) == "31 ± 4 °C"
    assert other.input_value("#value") == "12 ± 2 °C"
    other.get_by_role("button", name="Write it").click()
    other.get_by_role("status").filter(has_text="Written into").wait_for()
    assert _in_file(own.folder) == "12 ± 2 °C"


def test_both_write_different_things_and_both_stand(own, visit) -> None:  # type: ignore[no-untyped-def]
    one, other = visit(), visit()
    one.goto(own.address + FORM)
    other.goto(own.address + "/set?address=site.altitude")
    one.fill("#value", "31 ± 4 °C")
    other.fill("#value", "610 ± 20 m")
    one.get_by_role("button", name="Write it").click()
    other.get_by_role("button", name="Write it").click()
    for page in (one, other):
        page.get_by_role("status").filter(has_text="Written into build.toml").wait_for()
    assert _in_file(own.folder) == "31 ± 4 °C"
    assert "610 ± 20 m" in (own.folder / "build.toml").read_text("utf-8")


def test_the_app_dies_mid_edit_and_nothing_is_lost(own, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    page.goto(own.address + READING)
    page.fill("#reading", "21.5")
    page.fill("#who", "Ilse")
    page.get_by_role("button", name="Write it down").click()
    page.get_by_role("heading", name="Written down").wait_for()
    acknowledged = [str(entry) for entry in Journal(own.folder).entries()]
    assert acknowledged

    page.goto(own.address + READING)
    page.fill("#reading", "23.4")
    own.kill()
    page.get_by_role("status").filter(has_text="does not answer").wait_for()
    page.get_by_role("button", name="Write it down").click()
    page.get_by_role("status").filter(has_text="send it once more").wait_for()
    assert page.input_value("#reading") == "23.4"
    assert page.url.endswith(READING)

    own.start()
    assert [str(entry) for entry in Journal(own.folder).entries()] == acknowledged
    page.get_by_role("button", name="Write it down").click()
    page.get_by_role("heading", name="Written down").wait_for()
    entries = [str(entry) for entry in Journal(own.folder).entries()]
    assert entries[: len(acknowledged)] == acknowledged
    assert len(entries) == len(acknowledged) + 1


def _behind(page, address: str, times: int) -> None:  # type: ignore[no-untyped-def]
    """The first answers for a page are of before the latest edit, as while that is examined."""
    left = [times]

    def answer(route) -> None:  # type: ignore[no-untyped-def]
        response = route.fetch()
        body = response.text()
        if left[0]:
            left[0] -= 1
            body = re.sub(r'(<meta name="drybuild-stamp" content=")[^"]*', r"\1before", body)
            notice = '<p class="said" id="behind">This page stands as before the latest edit</p>'
            body = re.sub(r'(<main [^>]*>)', rf"\1{notice}", body)
        route.fulfill(response=response, body=body)

    page.route(address, answer)


def test_a_page_of_before_an_edit_brings_itself_up_to_date(own, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    _behind(page, own.address + FORM, 3)
    page.goto(own.address + FORM)
    page.locator("#behind").filter(has_text="by itself").wait_for()
    page.locator("#behind").wait_for(state="detached")
    assert page.locator("dl").first.is_visible()


def test_what_is_typed_on_a_page_of_before_an_edit_stays_and_is_told_of_once(own, visit) -> None:  # type: ignore[no-untyped-def]
    page = visit()
    _behind(page, own.address + FORM, 2)
    page.goto(own.address + FORM)
    page.fill("#value", "12 ± 2 °C")
    page.get_by_role("status").filter(has_text="Changed meanwhile").wait_for()
    assert page.input_value("#value") == "12 ± 2 °C"
    assert page.locator("#behind").count() == 0
