"""Lines of keys in TOML files."""

from __future__ import annotations

import time
import tomllib

import pytest

from drybuild.build.lines import key_lines, line_of

TEXT = '''\
# a comment with key = 1
format = 1
title = "not [a table] = x"   # more

[fitted]
"wheel.front" = "a"
wheel.rear = "b"

[part.one]
kind = "wheel"
curve = [
  [1, 2],
  [3, "]"],
]
note = """
looks = "like a key"
[and.a.table]
"""
after = { inner = 1, deep = { est = 2 } }
raw = \'\'\'
also = 1\'\'\'
last = 2

[[job]]
id = "first"
[job.fit]
x = "y"

[[job]]
  id = "second"
  [[job.step]]
  name = "s"
'''


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("format", "format = 1"),
        ("fitted", "[fitted]"),
        ("fitted.wheel.front", '"wheel.front"'),
        ("fitted.wheel.rear", "wheel.rear"),
        ("part.one", "[part.one]"),
        ("part", "[part.one]"),
        ("part.one.curve", "curve = ["),
        ("part.one.curve.1.0", "curve = ["),
        ("part.one.note", "note ="),
        ("part.one.after", "after ="),
        ("part.one.after.deep.est", "after ="),
        ("part.one.raw", "raw ="),
        ("part.one.last", "last = 2"),
        ("part.one.none", "[part.one]"),
        ("job.0", "[[job]]"),
        ("job.0.fit.x", 'x = "y"'),
        ("job.1.id", '"second"'),
        ("job.1.step.0.name", 'name = "s"'),
    ],
)
def test_a_key_is_found_on_its_line(path: str, words: str) -> None:
    tomllib.loads(TEXT)
    number = line_of(TEXT, path.split("."))
    assert number is not None
    assert words in TEXT.split("\n")[number - 1]


def test_what_stands_in_strings_is_no_key() -> None:
    known = key_lines(TEXT)
    assert not any("looks" in path or "and" in path or "also" in path for path in known)


def test_what_is_nowhere_has_no_line() -> None:
    assert line_of(TEXT, ["nowhere", "at", "all"]) is None


def test_the_second_table_of_an_array_has_its_own_line() -> None:
    first, second = line_of(TEXT, ["job", "0"]), line_of(TEXT, ["job", "1"])
    assert first is not None
    assert second is not None
    assert second > first


def test_windows_line_ends_count_the_same() -> None:
    assert key_lines(TEXT.replace("\n", "\r\n")) == key_lines(TEXT)


def test_a_large_file_takes_no_longer_than_its_length() -> None:
    text = "".join(f"k{n} = 1\n" for n in range(100_000))
    start = time.perf_counter()
    assert line_of(text, ["k99999"]) == 100_000
    assert time.perf_counter() - start < 10  # a scan per key would take hours
