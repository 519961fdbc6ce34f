"""The inputs of a step of the workings as they are said: each once, and what is not there told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from drybuild.examine import Step
from drybuild.examine.naming import plain_name
from drybuild.examine.workings import TOGETHER


@dataclass(frozen=True, slots=True)
class InputWords:
    """One input of a step.

    name: as the formula has it; text: its figure; known: what it is and how it is known; address:
    where it is stated; step: number of the step that worked it out, or 0; holds_many: it is no one
    figure.
    """

    name: str
    text: str
    known: str
    address: str
    step: int = 0
    holds_many: bool = False


@dataclass(frozen=True, slots=True)
class StepWords:
    """The inputs of a step, and those of which only one thing is to be said, by what it is."""

    rows: tuple[InputWords, ...]
    told: tuple[tuple[str, tuple[str, ...]], ...]


def step_words(step: Step, numbers: Mapping[str, int]) -> StepWords:
    """How the inputs of a step are said. numbers: address of each result → number of its step."""
    same = _same_as_found(step)
    rows: list[InputWords] = []
    unstated: list[str] = []
    empty = {
        line.address.removeprefix("base:").removesuffix(".present"): None
        for line in step.inputs
        if line.address.endswith(".present") and line.text == "no"
    }
    for line in step.inputs:
        if line.name in same or line.address.endswith(".present"):
            continue
        name = _spelt(line.name)
        # A step of the car as found says so in its title, not again in every line.
        base = step.address.startswith("base:")
        address = line.address.removeprefix("base:") if base else line.address
        if line.text == "not stated":
            if line.address.removeprefix("base:").rpartition(".")[0] not in empty:
                unstated.append(name)
            continue
        number = numbers.get(line.address, 0)
        many = bool(number) and line.text.startswith(TOGETHER)
        part = address.endswith(".part")
        text = _spelt(line.text) if part else line.text  # which part it is, as its file calls it
        known = ", ".join(w for w in (plain_name(address), "" if part else line.known) if w)
        rows.append(InputWords(name, text, known, line.address, number, many))
    told = (
        ("the same now as found", [_spelt(name).removesuffix(" now") for name in same.values()]),
        ("not fitted", [plain_name(place) for place in empty]),
        ("nothing stated of", unstated),
    )
    return StepWords(
        tuple(rows), tuple((said, tuple(dict.fromkeys(names))) for said, names in told if names)
    )


def _spelt(name: str) -> str:
    """The name of an input as it is said."""
    return name.rstrip("_").replace("_", " ")


def _same_as_found(step: Step) -> dict[str, str]:
    """Inputs that a step takes now and as found and that are the same: they need not be said.

    Name of either → name of the one now.
    """
    found = {line.name: line for line in step.inputs}
    same: dict[str, str] = {}
    for name, line in found.items():
        other = found.get(name.replace("now", "found"))
        if other is None or other is line or line.text == "not stated":
            continue
        if (line.text, line.known) == (other.text, other.known):
            same |= {name: name, other.name: name}
    return same
