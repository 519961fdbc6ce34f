"""Lines of the reader's width."""

from __future__ import annotations

import pytest

from drybuild.show.lines import listed, width, wrapped


@pytest.mark.parametrize("before", range(40, 110))
def test_a_figure_and_its_percent_sign_stay_on_one_line(before: int) -> None:
    text = f"{'x' * (before // 2)} {'y' * (before - before // 2)} 104 %, 99 to 108; more of it " * 2
    lines = wrapped(text, 4)
    assert all(len(line) <= width() for line in lines)
    assert not any(line.lstrip().startswith("%") for line in lines)
    assert " ".join(line.strip() for line in lines) == " ".join(text.split())


@pytest.mark.parametrize(
    ("words", "said"),
    [((), ""), (("a",), "a"), (("a", "b"), "a and b"), (("a", "b", "c"), "a, b and c")],
)
def test_a_list_is_said_as_one_says_it(words: tuple[str, ...], said: str) -> None:
    assert listed(iter(words)) == said
