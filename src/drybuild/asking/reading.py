"""What was typed in a first visit as answers, one after the other, up to the first that cannot be
read."""

from __future__ import annotations

from collections.abc import Mapping

from drybuild.asking.questions import (
    ALSO,
    MEASURED,
    SURE,
    WHO_ASKED,
    AnswerRefused,
    asked_along,
    pending,
    read,
    read_also,
    with_lowering,
)
from drybuild.asking.told import Tells, read_measured


def read_all(given: Mapping[str, str], tells: Tells) -> tuple[dict[str, str], str, str]:
    """The answers in the order in which they are asked; what is wrong with one, and its name."""
    answers: dict[str, str] = {}
    while (question := pending(answers)) is not None and question.name in given:
        try:
            answers[question.name] = read(question, given[question.name], answers)
        except AnswerRefused as error:
            return answers, str(error), question.name
    if question is None and MEASURED in given:
        asks = tells.asks(answers)
        try:
            sure = given.get(SURE, "")
            answers[MEASURED] = read_measured(asks, given[MEASURED], sure) if asks else ""
        except AnswerRefused as error:
            return answers, str(error), MEASURED
        if sure and sure == answers[MEASURED]:
            answers[SURE] = sure
        answers[WHO_ASKED] = " ".join(given.get(WHO_ASKED, "").split())
    if question is None and given.get(ALSO):
        try:
            answers[ALSO] = read_also(given[ALSO])
        except AnswerRefused as error:
            return answers, str(error), ALSO
    return (answers, *_along(answers, given)) if question is None else (answers, "", "")


def _along(answers: dict[str, str], given: Mapping[str, str]) -> tuple[str, str]:
    """Adds the numbers that came with all else; what is wrong with one, and its name."""
    for question in asked_along(answers):
        try:
            said = read(question, given.get(question.name, ""), answers)
        except AnswerRefused as error:
            return f"{question.ask} {error}", question.name
        if said:  # who gives a drop means to lower it
            answers[question.name] = said
            answers[ALSO] = with_lowering(answers.get(ALSO, ""))
    return "", ""
