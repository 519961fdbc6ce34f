"""What an unmeasured finding wants to know, and under which address that is written down."""

from __future__ import annotations

from drybuild.build.declared import declaration, inner_model
from drybuild.examine.examination import Examination
from drybuild.examine.lookup import takes
from drybuild.examine.measuring import note_as
from drybuild.examine.naming import plain_name, wanted
from drybuild.findings import Finding


def wanting(examination: Examination, finding: Finding) -> tuple[tuple[str, str], ...]:
    """(words, address) of each fact that is missing; of those of which any one would do, the first
    that a reading can state."""
    found: dict[str, str] = {}
    for missing in wanted(finding.missing):
        for one in missing.split("|"):
            address = _noted_at(examination, one)
            if address:
                found.setdefault(address, plain_name(one.removeprefix("base:")))
                break
    return tuple((words, address) for address, words in found.items())


def _noted_at(examination: Examination, address: str) -> str:
    """Empty for a result, a curve, a table, and a place where nothing is fitted."""
    plain = address.removeprefix("base:")
    declared = declaration(plain)
    if declared is None or inner_model(declared.field.annotation) is not None:
        return ""
    state, as_found = examination.state, plain != address
    fitted = state.base_fitted if as_found else state.fitted
    if takes(declared).startswith("a curve") or fitted.get(declared.owner, "") is None:
        return ""
    return note_as(declared, examination, as_found=as_found)
