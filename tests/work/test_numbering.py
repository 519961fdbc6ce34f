"""Numbers of cards that stay through what is written down."""

from __future__ import annotations

from drybuild.work.model import Step
from drybuild.work.numbering import as_printed, named, numbered, numbers_of


def step(what, session="sat", start=0):
    return Step(kind="job", what=what, session=session, start=start, end=start + 1, who=("Ann",))


A, B, C, D = (step(what) for what in "abcd")
FIRST = ((A, B), (C,), (D,))


def kept(cut, known):
    return numbers_of(zip(numbered(cut, known), cut, strict=True), known)


def test_a_new_plan_is_numbered_from_one():
    assert numbered(FIRST, {}) == (1, 2, 3)
    assert numbered((), {}) == ()


def test_what_is_done_leaves_the_numbers_of_the_rest():
    known = kept(FIRST, {})
    assert numbered(((C,), (D,)), known) == (2, 3)
    assert numbered(((B,), (C,), (D,)), known) == (1, 2, 3)  # half a card is still that card


def test_other_tasks_on_one_card_have_a_number_that_no_paper_bears():
    known = kept(FIRST, {})
    assert numbered(((A,), (B, C), (D,)), known) == (1, 4, 3)
    # cut in two: the second part is another card
    assert numbered(((A,), (B,), (C,), (D,)), known) == (1, 4, 2, 3)
    assert numbered(((step("new"),), (A, B), (C,), (D,)), known) == (4, 1, 2, 3)


def test_two_cards_in_one_stretch_stay_the_cards_that_they_are_on_paper():
    known = kept(FIRST, {})
    new = step("new")
    cut = as_printed(((B, C, new), (D,)), known)
    assert cut == ((B,), (C,), (new,), (D,))
    assert numbered(cut, known) == (1, 2, 4, 3)
    assert as_printed(((A, B, C), (D,)), {}) == ((A, B, C), (D,))


def test_a_card_that_moved_to_another_day_is_another_card():
    moved = step("c", session="sun")
    assert named(moved) != named(C)
    assert numbered(((A, B), (D,), (moved,)), kept(FIRST, {})) == (1, 3, 4)


def test_a_number_that_was_done_is_never_given_again():
    known = kept(FIRST, {})
    later = kept(((A, B),), known)
    assert numbered(((step("new"),),), later) == (4,)
