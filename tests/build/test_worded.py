"""Every fault that the library of the models can find is said in our words, wherever it shows."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from pydantic import ValidationError
from pydantic_core import PydanticKnownError, SchemaValidator, core_schema
from pydantic_core._pydantic_core import list_all_errors

from drybuild.build import ChangeRefused
from drybuild.build.declared import declared_addresses
from drybuild.build.errors import Fault
from drybuild.build.folder import car_file
from drybuild.build.kinds import part_kinds, sections
from drybuild.build.model import Model
from drybuild.build.proposed import make_part
from drybuild.build.reading import check_model
from drybuild.build.state import read_setting
from drybuild.build.worded import expected_of, found_of, in_one_line
from drybuild.systems.law.rules import RuleFault, read_rule_set
from drybuild.work.plan_file import PlanProblem, plan_from

LIBRARY = re.compile(
    r"\bshould (be|have|match|contain|not)\b|\bInput\b|Value error|Field required|valid (integer|"
    r"string|number|boolean|tuple|list|dict)|unable to (parse|interpret)|pydantic|not permitted"
)
"""What only the library says."""
ODD: tuple[Any, ...] = (
    True, 0, -1, 10**30, 1.5, -1e300, float("inf"), float("nan"), "", " ", "x", "9" * 5000, "-3",
    [], [1], ["x"] * 300, [[]], {}, {"is": 1}, {"no_such": 1}, {"is": "1 mm", "by": "magic"}, None,
)  # fmt: skip
KNOWN = list_all_errors()


@pytest.mark.parametrize("known", KNOWN, ids=lambda one: one["type"])
def test_no_kind_of_fault_is_said_as_the_library_says_it(known: Any) -> None:
    context = known.get("example_context")
    if known["type"] in ("value_error", "assertion_error"):
        context = {"error": ValueError("low must lie below high")}

    def refuse(_: Any) -> Any:
        raise PydanticKnownError(known["type"], context)

    validator = SchemaValidator(core_schema.no_info_plain_validator_function(refuse))
    with pytest.raises(ValidationError) as said:
        validator.validate_python("what was typed")
    (fault,) = said.value.errors()
    line = in_one_line({**fault, "loc": ("job", "hours")})
    assert line.startswith("job.hours: ")
    assert not LIBRARY.search(line)
    assert expected_of(fault).strip()
    assert found_of(fault) in ("what was typed", "nothing")


@pytest.mark.parametrize(
    ("schema", "typed", "said"),
    [
        ({"type": "int", "ge": 1, "le": 9}, 12, "x: found 12, expected 9 or less"),
        ({"type": "float", "gt": 0.5}, 0.5, "x: found 0.5, expected more than 0.5"),
        ({"type": "int"}, True, "x: found true, expected a whole number"),
        ({"type": "bool"}, "perhaps", "x: found perhaps, expected true or false"),
        ({"type": "str", "max_length": 3}, "abcd",
         "x: found abcd, expected text of 3 letters at the most"),
        ({"type": "literal", "expected": ["a", "b"]}, "c",
         "x: found c, expected one of: 'a' or 'b'"),
        ({"type": "float", "allow_inf_nan": False}, float("inf"),
         "x: found inf, expected a number that is not infinite"),
    ],
)  # fmt: skip
def test_it_says_where_what_was_found_and_what_was_expected(
    schema: Any, typed: Any, said: str
) -> None:
    strict = {**schema, "strict": True} if schema["type"] == "int" else schema
    with pytest.raises(ValidationError) as refused:
        SchemaValidator(strict).validate_python(typed)
    assert in_one_line({**refused.value.errors()[0], "loc": ("x",)}) == said


def test_a_fault_that_we_raised_ourselves_keeps_its_two_halves() -> None:
    ours = ValueError("found a path; expected the name of a file in the folder photos/")
    fault = {"type": "value_error", "loc": ("file",), "input": "../x", "ctx": {"error": ours}}
    assert (found_of(fault), expected_of(fault)) == (
        "a path", "the name of a file in the folder photos/",
    )  # fmt: skip


def _models() -> Iterator[type[Model]]:
    """Every model of a file of the folder."""
    part_kinds(), sections(), car_file()
    waiting = list(Model.__subclasses__())
    while waiting:
        one = waiting.pop()
        waiting += one.__subclasses__()
        if one.__module__.startswith("drybuild."):
            yield one


MODELS = sorted({m for m in _models() if m.model_fields}, key=lambda m: (m.__module__, m.__name__))


def test_no_file_of_the_folder_is_refused_in_the_librarys_words() -> None:
    types, seen = set(), 0
    for model in MODELS:
        for name in model.model_fields:
            for odd in ODD:
                faults: list[Fault] = []
                check_model(
                    model, {name: odd, "no_such_key": 1}, file="f.toml", text="", at=("t",),
                    known="catalogue", faults=faults,
                )  # fmt: skip
                types |= {fault.expected for fault in faults}
                seen += len(faults)
                for fault in faults:
                    assert not LIBRARY.search(str(fault)), (model.__name__, name, odd, str(fault))
                    assert "" not in (fault.where, fault.expected)
    assert len(MODELS) > 50
    assert seen > 10_000
    assert len(types) > 100


def _refusal(address: str, odd: Any) -> str:
    try:
        read_setting(address, odd)
    except ChangeRefused as error:
        return str(error)
    return ""


def test_nothing_set_or_proposed_is_refused_in_the_librarys_words() -> None:
    refused = 0
    for address in declared_addresses():
        for odd in ODD:
            said = _refusal(address, odd)
            refused += bool(said)
            assert not LIBRARY.search(said), said
    for kind in part_kinds():
        with pytest.raises(ChangeRefused) as error:
            make_part(kind, {"price": True, "no_such": 1})
        assert not LIBRARY.search(str(error.value))
    assert refused > 1_000


def test_no_rule_set_is_refused_in_the_librarys_words() -> None:
    for text in ("", "id = 1", "title = []", "rules = 3", 'rules = [{ shape = "no such" }]'):
        with pytest.raises(RuleFault) as said:
            read_rule_set(text, name="rules.toml")
        assert not LIBRARY.search(str(said.value)), str(said.value)
        assert "rules.toml: " in str(said.value)


@pytest.mark.parametrize("odd", [*ODD, {"steps": 3}])
def test_no_plan_is_refused_in_the_librarys_words(odd: Any) -> None:
    for data in (odd, {"steps": [], "sessions": odd, "ends": odd, "clauses": odd}):
        with pytest.raises(PlanProblem) as said:
            plan_from(None, data)  # type: ignore[arg-type]
        assert not LIBRARY.search(str(said.value)), str(said.value)
