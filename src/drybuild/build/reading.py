"""Reads one file of the folder: text to tables, with every fault found and its line."""

from __future__ import annotations

import stat
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from drybuild.build.errors import Fault, nearest
from drybuild.build.grouped import grouping_faults
from drybuild.build.lines import line_of
from drybuild.build.migrate import FORMAT, migrate
from drybuild.build.worded import expected_of, found_of, shortened

M = TypeVar("M", bound=BaseModel)

MOST_BYTES = 2_000_000
"""A build file larger than this is not a build file; it is refused before it is read."""

DEEPEST = 16
"""Levels of tables and arrays under a key of a file."""


def read_tables(path: Path, name: str, faults: list[Fault]) -> tuple[dict[str, Any], str] | None:
    """The file's tables and its text; None when it cannot be read at all."""

    def refuse(found: str, expected: str, line: int | None = None) -> None:
        faults.append(Fault(name, line, "", found, expected))

    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):  # a pipe or a device would be read for ever
            refuse("something that is not a file", "a text file")
            return None
        size = found.st_size
        if size > MOST_BYTES:
            refuse(f"{size:,} bytes", f"a build file of at most {MOST_BYTES:,} bytes")
            return None
        raw = path.read_bytes()
    except OSError as error:
        refuse(error.strerror or str(error), "a file that can be read")
        return None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        refuse(f"byte 0x{raw[error.start]:02x}, which is not UTF-8", "text in UTF-8", line)
        return None
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        refuse(*_toml_fault(str(error), text))
        return None
    except RecursionError:
        refuse("tables nested beyond all use", "TOML nested a few levels deep")
        return None
    except ValueError as error:  # e.g. an integer of thousands of digits
        refuse(str(error)[:200], "TOML")
        return None
    deep = _too_deep(data)
    if deep is not None:
        refuse("tables nested beyond all use", f"at most {DEEPEST} levels", line_of(text, [deep]))
        return None
    faults.extend(grouping_faults(text, name))
    return (data, text) if _right_format(data, text, name, faults) else None


def _too_deep(data: dict[str, Any]) -> str | None:
    """The first key under which tables or arrays nest deeper than any build file needs.

    Level by level and not by recursion, which is what such a file would exhaust.
    """
    for key, value in data.items():
        level: list[Any] = [value]
        for _ in range(DEEPEST):
            level = [
                inner
                for item in level
                if isinstance(item, dict | list)
                for inner in (item.values() if isinstance(item, dict) else item)
            ]
        if level:
            return key
    return None


def _right_format(data: dict[str, Any], text: str, name: str, faults: list[Fault]) -> bool:
    found = data.get("format")
    if found is None:
        faults.append(Fault(name, 1, "format", "no format number", f"format = {FORMAT}"))
        return False
    if not isinstance(found, int) or isinstance(found, bool) or not 0 <= found <= FORMAT:
        expected = f"a format number from 0 to {FORMAT}"
        faults.append(Fault(name, line_of(text, ("format",)), "format", repr(found)[:80], expected))
        return False
    migrate(data, found)
    return True


def _toml_fault(message: str, text: str) -> tuple[str, str, int | None]:
    line = None
    if "(at line " in message:
        message, _, rest = message.partition(" (at line ")
        line = int(rest.split(",")[0])
    elif message.endswith("(at end of document)"):
        message, line = message.removesuffix(" (at end of document)"), text.count("\n") + 1
    return message, 'TOML as in key = "value"', line


def check_model(
    model: type[M],
    data: Mapping[str, Any],
    *,
    file: str,
    text: str,
    at: Sequence[str],
    known: str,
    faults: list[Fault],
) -> M | None:
    """The table as its model, or None with its faults added.

    at: path of the table in the file; known: how bare numbers of the file are known.
    """
    try:
        return model.model_validate(data, context={"how": known, "catalogue": {}})
    except ValidationError as error:
        for detail in error.errors(include_url=False):
            faults.append(_fault(model, detail, file, text, at))
    except RecursionError:
        faults.append(Fault(file, line_of(text, at), ".".join(at), "nested too deep", "a table"))
    return None


def _fault(
    model: type[BaseModel], detail: ErrorDetails, file: str, text: str, at: Sequence[str]
) -> Fault:
    inner, fields = _place_of(model, detail["loc"])
    path = [*at, *inner]
    where = ".".join(shortened(str(step), 60) for step in path)
    ctx = detail.get("ctx", {})
    found = shortened(found_of(detail))
    expected = expected_of(detail)
    hint = str(ctx.get("hint", "") or "")
    if detail["type"] == "extra_forbidden":
        key = str(detail["loc"][-1])
        found, expected = f"key {shortened(key)!r}", f"one of: {', '.join(sorted(fields))}"
        hint = nearest(key, fields)
    elif detail["type"] == "missing":
        found, expected = "nothing", f"a value for {detail['loc'][-1]!r}"
    return Fault(file, line_of(text, path), where, found, expected, hint)


def _place_of(
    model: type[BaseModel], loc: Sequence[int | str]
) -> tuple[list[str], tuple[str, ...]]:
    """The keys of the file that a validator's location means, and the keys its table may have.

    The location also names validators and, where a table may be one of many models, the kind
    that was taken; neither stands in the file as a key.
    """
    current: list[Any] = [model]
    path: list[str] = []
    fields: tuple[str, ...] = tuple(model.model_fields)
    for step in loc:
        models = [t for t in current if isinstance(t, type) and issubclass(t, BaseModel)]
        chosen = [m for m in models if _kind(m) == step]
        if chosen and len(models) > 1:
            current, fields = chosen, tuple(chosen[0].model_fields)
            continue
        if str(step).startswith("function-"):
            continue
        path.append(str(step))
        fields = tuple(dict.fromkeys(name for m in models for name in m.model_fields))
        inner: list[Any] = []
        for kind in current:
            if kind in models:
                field = kind.model_fields.get(str(step))
                inner += _alternatives(field.annotation) if field is not None else []
            else:
                held = [arg for arg in get_args(kind) if arg is not Ellipsis]
                inner += [a for arg in held[-1:] for a in _alternatives(arg)]
        current = inner
    return path, fields


def _kind(model: type[BaseModel]) -> Any:
    field = model.model_fields.get("kind")
    return field.default if field is not None else None


def _alternatives(annotation: Any) -> list[Any]:
    """The types that an annotation allows, unions and Annotated taken apart."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return _alternatives(get_args(annotation)[0])
    if origin in (Union, UnionType):
        return [a for arg in get_args(annotation) for a in _alternatives(arg)]
    return [annotation]
