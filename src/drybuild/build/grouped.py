"""Numbers in a file whose underscore is a slip of the pen: ``1_5`` is 15 in TOML, meant as 1.5."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Float, Integer

from drybuild.build.errors import Fault
from drybuild.build.lines import line_of

_LIKELY = re.compile(
    r"(?:^|[\s=\[,{])[+-]?(?!\d{1,3}(?:_\d{3})+(?![\d_]))\d+_\d", re.MULTILINE
)
"""Seen before a text is read once more with its numbers as they are written: hardly any has one."""

_WHOLE = re.compile(r"[+-]?([\d_]+)")
_THOUSANDS = re.compile(r"\d{1,3}(_\d{3})+|\d+")


def grouping_faults(text: str, name: str) -> tuple[Fault, ...]:
    """Every number with an underscore that does not stand between thousands.

    text: right TOML by then; name: of the file, as a fault says it.
    """
    if not _LIKELY.search(text):
        return ()
    try:
        tables = tomlkit.parse(text)
    except TOMLKitError:  # it reads some files not at all that are TOML
        return ()
    return tuple(
        _fault(text, name, path, said, value)
        for path, said, value in _numbers(tables, ())
        if not _grouped(said)
    )


def _fault(text: str, name: str, path: tuple[str, ...], said: str, value: object) -> Fault:
    point = re.fullmatch(r"[+-]?\d+_\d+", said) is not None
    expected = f"{said.replace('_', '.')} if a point was meant; " if point else ""
    expected += "an underscore only between thousands, as in 1_000"
    found = f"{said}, which TOML reads as {value}"
    return Fault(name, line_of(text, path), ".".join(path), found, expected)


def _grouped(said: str) -> bool:
    if said.lstrip("+-")[:2] in ("0x", "0o", "0b"):
        return True
    whole = _WHOLE.match(said)
    return whole is None or _THOUSANDS.fullmatch(whole[1]) is not None


def _numbers(item: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str, object]]:
    """Where each number stands, as it is written, and what it is read as."""
    if isinstance(item, Integer | Float):
        yield path, item.as_string(), item.unwrap()
    elif isinstance(item, dict):
        for key, inner in item.items():
            yield from _numbers(inner, (*path, str(key)))
    elif isinstance(item, list):
        for number, inner in enumerate(item):
            yield from _numbers(inner, (*path, str(number)))
