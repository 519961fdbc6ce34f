"""Without script everything is a form, and works."""

from __future__ import annotations

from drybuild.journal import Journal
from drybuild.web.drafts import drafts


def test_reading_value_draft_and_comparison_go_by_forms(own, plain) -> None:  # type: ignore[no-untyped-def]
    plain.goto(own.address + "/measure/at/site.temperature")
    assert not plain.locator(".keypad").is_visible()
    plain.fill("#reading", "23")
    plain.fill("#who", "Ilse")
    plain.get_by_role("button", name="Write it down").click()
    plain.get_by_role("heading", name="Written down").wait_for()
    assert [entry.who for entry in Journal(own.folder).entries()] == ["Ilse"]

    plain.goto(own.address + "/set?address=site.altitude")
    plain.fill("#value", "610 ± 20 m")
    plain.get_by_role("button", name="Write it").click()
    plain.get_by_role("status").filter(has_text="Written into build.toml").wait_for()

    plain.goto(own.address + "/corner/rear/left")
    plain.locator("#offset").press("ArrowLeft")
    plain.fill("#title", "one out")
    plain.get_by_role("button", name="Keep as a draft").click()
    plain.get_by_role("heading", name="one out").wait_for()
    assert [draft.title for draft in drafts(own.folder)] == ["one out"]
    assert [change.target for change in drafts(own.folder)[0].changes] == ["wheel.rear.offset"]

    plain.goto(own.address + "/parts/compare?place=wheel.rear&part=plover_16x6")
    plain.get_by_role("button", name="Compare").click()
    plain.get_by_role("heading", name="What is said of the two").wait_for()
