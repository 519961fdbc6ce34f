"""What the library that validates found amiss, in the words of this program.

Each fault says where, what was found and what was expected; nobody reads the library's own text.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

_BY_TYPE: Mapping[str, str] = {
    "literal_error": "one of: {expected}",
    "enum": "one of: {expected}",
    "union_tag_invalid": "{discriminator} one of: {expected_tags}",
    "union_tag_not_found": "a table that says which kind it is",
    "missing": "a value",
    "extra_forbidden": "no such key",
    "invalid_key": "keys that are text",
    "none_required": "nothing",
    "frozen_field": "no change of it",
    "frozen_instance": "no change of it",
    "greater_than": "more than {gt}",
    "greater_than_equal": "{ge} or more",
    "less_than": "less than {lt}",
    "less_than_equal": "{le} or less",
    "multiple_of": "a multiple of {multiple_of}",
    "finite_number": "a number that is not infinite",
    "too_short": "a list of {min_length} or more",
    "too_long": "a list of {max_length} at the most",
    "string_too_short": "text of {min_length} letters or more",
    "string_too_long": "text of {max_length} letters at the most",
    "string_pattern_mismatch": "text of the form {pattern}",
    "string_not_ascii": "plain letters and figures",
    "int_parsing_size": "a whole number of fewer figures",
    "json_invalid": "JSON",
    "json_type": "JSON",
    "recursion_loop": "tables that do not hold themselves",
}
"""Type of a fault → what is said, its figures filled in."""

_BY_BEGINNING: Mapping[str, str] = {
    "string": 'text in "quotes", or { is = "text", by = "eye" }',
    "int": "a whole number",
    "float": "a number",
    "decimal": "a number",
    "bool": "true or false",
    "tuple": "a list in [brackets]",
    "list": "a list in [brackets]",
    "set": "a list in [brackets]",
    "frozen_set": "a list in [brackets]",
    "iter": "a list in [brackets]",
    "dict": "a table",
    "mapping": "a table",
    "model": "a table",
    "dataclass": "a table",
    "datetime": "a day and time, such as 2026-11-30 08:30",
    "date": "a day, such as 2026-11-30",
    "time_delta": "a length of time",
    "timezone": "a time with its time zone",
    "time": "a time of day, such as 08:30",
}
"""Beginning of a fault's type → what is said; the first that fits."""

_OTHER = "something else"
_OWN = re.compile(r"found (?P<found>.+?); expected (?P<expected>.+)", re.DOTALL)
_RAISED = ("value_error", "assertion_error")


def expected_of(fault: Mapping[str, Any]) -> str:
    """What a validator expected, in words for somebody who writes a file."""
    ctx = fault.get("ctx") or {}
    kind = str(fault["type"])
    if kind in _RAISED:
        said = str(ctx.get("error", ""))
        own = _OWN.fullmatch(said)
        return own["expected"] if own else said or _OTHER
    if kind in _BY_TYPE:
        try:
            return _BY_TYPE[kind].format_map({k: _figure(v) for k, v in ctx.items()})
        except KeyError:
            return _OTHER
    if "expected" in ctx:
        return str(ctx["expected"])
    return next((said for begin, said in _BY_BEGINNING.items() if kind.startswith(begin)), _OTHER)


def found_of(fault: Mapping[str, Any]) -> str:
    """What stands there instead, as somebody would write it."""
    ctx = fault.get("ctx") or {}
    if "found" in ctx:
        return str(ctx["found"])
    if fault["type"] == "union_tag_invalid" and ctx.get("tag"):
        return f"{ctx.get('discriminator', 'a kind')} {ctx.get('tag', '')}"
    if fault["type"] == "missing":
        return "nothing"
    own = _OWN.fullmatch(str(ctx.get("error", ""))) if fault["type"] in _RAISED else None
    return own["found"] if own else written(fault.get("input"))


def in_one_line(fault: Mapping[str, Any]) -> str:
    """A fault whole: where, what was found, what was expected."""
    where = ".".join(str(s) for s in fault["loc"] if not str(s).startswith("function-"))
    said = f"found {shortened(found_of(fault), 80)}, expected {expected_of(fault)}"
    ctx = fault.get("ctx") or {}
    if fault["type"] in _RAISED and not _OWN.fullmatch(str(ctx.get("error", ""))):
        said = expected_of(fault)
    return f"{where}: {said}" if where else said


def written(found: Any) -> str:
    """A value as a file would say it, near enough to be found there."""
    if isinstance(found, str):
        return found
    if isinstance(found, bool):
        return "true" if found else "false"
    return "nothing" if found is None else repr(found)


def shortened(text: str, most: int = 120) -> str:
    """Text of so many letters at the most."""
    return text if len(text) <= most else text[: most - 1] + "…"


def _figure(value: Any) -> Any:
    return f"{value:.12g}" if isinstance(value, float) else value
