"""What a page weighs, and that nothing became slow by a multiple.

The times themselves are taken by benchmarks/web.py on a machine that does nothing else; the bounds
here are wide, so that a machine that does much else refuses no landing.
"""

from __future__ import annotations

import web as bench

MOST_KB = 1000.0
SLIDER_MS = 150 * 6
FIRST_SCREEN_S = 1.0 * 10


def test_no_page_weighs_more_than_a_megabyte(looked_at, chrome) -> None:  # type: ignore[no-untyped-def]
    found = bench.weights(chrome, looked_at)
    assert set(found) == set(bench.PAGES)
    # what every page loads is counted with it: the one sheet of style is larger than this
    assert min(page["page_kb"] for page in found.values()) > 10
    assert max(page["page_kb"] for page in found.values()) <= MOST_KB


def test_a_slider_is_answered_while_it_moves(own, chrome) -> None:  # type: ignore[no-untyped-def]
    page = chrome.new_page()
    found = bench.sliders(page, own, 9)
    page.close()
    assert found["slider_moves"] >= 7
    assert 0 < found["slider_ms"] <= SLIDER_MS


def test_the_first_screen_of_a_new_server_comes(planned, chrome) -> None:  # type: ignore[no-untyped-def]
    found = bench.first_screens(chrome, planned, 1)
    assert 0 < found["first_screen_s"] <= FIRST_SCREEN_S
    assert found["first_screen_s"] < found["from_command_s"]
