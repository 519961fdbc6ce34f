"""Reads one file of the folder: text to tables, with every fault found and its line."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

import tomlkit
from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from drybuild.build.errors import Fault, nearest
from drybuild.build.migrate import FORMAT, migrate

M = TypeVar("M", bound=BaseModel)

MOST_BYTES = 2_000_000
"""A build file larger than this is not a build file; it is refused before it is read."""


def read_tables(path: Path, name: str, faults: list[Fault]) -> tuple[dict[str, Any], str] | None:
    """The file's tables and its text; None when it cannot be read at all."""

    def refuse(found: str, expected: str, line: int | None = None) -> None:
        faults.append(Fault(name, line, "", found, expected))

    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            refuse(f"{size:,} bytes", f"a build file of at most {MOST_BYTES:,} bytes")
            return None
        raw = path.read_bytes()
    except OSError as error:
        refuse(error.strerror or str(error), "a file that can be read")
        return None
    try:
        text = raw.decode("utf-8")
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
    return (data, text) if _right_format(data, text, name, faults) else None


def _right_format(data: dict[str, Any], text: str, name: str, faults: list[Fault]) -> bool:
    found = data.get("format", None)
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
    return message, "TOML as in key = \"value\"", line


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
    path = [*at, *(str(p) for p in detail["loc"] if not str(p).startswith("function-"))]
    where = ".".join(path)
    ctx = detail.get("ctx", {})
    found = _short(ctx.get("found", detail.get("input")))
    expected = str(ctx.get("expected", detail["msg"]))
    hint = str(ctx.get("hint", "") or "")
    if detail["type"] == "extra_forbidden":
        fields = _fields_at(model, detail["loc"][:-1])
        key = str(detail["loc"][-1])
        found, expected = f"key {key!r}", f"one of: {', '.join(sorted(fields))}"
        hint = nearest(key, tuple(fields))
    elif detail["type"] == "missing":
        found, expected = "nothing", f"a value for {detail['loc'][-1]!r}"
    return Fault(file, line_of(text, path), where, found, expected, hint)


def _fields_at(model: type[BaseModel], loc: Sequence[Any]) -> tuple[str, ...]:
    current: Any = model
    for step in loc:
        field = getattr(current, "model_fields", {}).get(step)
        if field is None:
            break
        inner = [field.annotation, *getattr(field.annotation, "__args__", ())]
        models = [t for t in inner if isinstance(t, type) and issubclass(t, BaseModel)]
        if not models:
            break
        current = models[0]
    return tuple(getattr(current, "model_fields", {}))


def _short(found: Any) -> str:
    text = found if isinstance(found, str) else repr(found)
    return text if len(text) <= 120 else text[:117] + "…"


def line_of(text: str, path: Sequence[str]) -> int | None:
    """Line (from 1) of the key that ``path`` names, or of the nearest table above it.

    The text is walked as tomlkit keeps it, so comments and blank lines count.
    """
    try:
        document = tomlkit.parse(text)
    except Exception:  # the file was read by the stricter reader before; a line is only a help
        return None
    best: int | None = None
    wanted = tuple(path)
    for found, line in _walk(document, (), 1):
        if wanted[: len(found)] == found:
            best = line
            if found == wanted:
                break
    return best


def _walk(container: Any, path: tuple[str, ...], line: int) -> Any:
    from tomlkit.container import Container, OutOfOrderTableProxy
    from tomlkit.items import AoT, InlineTable, Table

    body = container.body if isinstance(container, Container) else container.value.body
    for key, item in body:
        rendered = _rendered(key, item)
        if key is not None:
            here = (*path, key.key)
            leading = item.trivia.indent.count("\n") if hasattr(item, "trivia") else 0
            yield here, line + leading
            if isinstance(item, Table | InlineTable) and not isinstance(item, OutOfOrderTableProxy):
                head = 0 if isinstance(item, InlineTable) or item.is_super_table() else 1
                yield from _walk(item, here, line + leading + head)
            elif isinstance(item, AoT):
                at = line
                for index, table in enumerate(item.body):
                    yield (*here, str(index)), at
                    yield from _walk(table, (*here, str(index)), at + 1)
                    at += _rendered(key, table).count("\n")
        line += rendered.count("\n")


def _rendered(key: Any, item: Any) -> str:
    from tomlkit.container import Container
    from tomlkit.items import AoT, Table

    box = Container()
    if isinstance(item, Table):
        return str(box._render_table(key, item))
    if isinstance(item, AoT):
        return str(box._render_aot(key, item))
    if key is None:
        return str(item.as_string())
    return str(box._render_simple_item(key, item))
