"""The corner page while figures are tried."""

from __future__ import annotations

import re


def test_the_picture_says_what_is_tried_beside_what_is_marked(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    plain = here.get("/corner/rear/left/tried").text
    tried = here.get("/corner/rear/left/tried?tyre=255").text
    head = re.compile(r"<figcaption>(.*?)</figcaption>")
    first, second = (head.search(page)[1] for page in (plain, tried))  # type: ignore[index]
    assert "tried" not in first
    assert second == f"{first}; tried: section width of the tyre 255 mm"


def test_the_offsets_slider_says_that_the_spokes_do_not_go_with_it(browser) -> None:  # type: ignore[no-untyped-def]
    here = browser()
    note = re.search(r'id="offset-note">([^<]*)<', here.get("/corner/front/left").text)
    assert note is not None
    assert "another offset is another wheel" in note[1]
    assert "the spokes stay where they are from the hub face" in note[1]
