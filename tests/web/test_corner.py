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
