"""The guesses that a finding rests on, by name: it waits for a better word on each of them."""

from __future__ import annotations

from collections.abc import Iterable

from drybuild.examine.naming import OWNERS_WORD, WAYS, plain_name, wanted, way_to_know, worth_asking
from drybuild.findings import Evaluation, Fact, Finding, Verdict
from drybuild.findings.finding import RESTS_ON_ASSUMED, Unknown
from drybuild.values import HowKnown

_TURN = tuple(WAYS)

MOST_OF_IT = 0.5
"""Share of a finding's doubt from which one guess is most of it."""


def guessed_facts(finding: Finding, evaluation: Evaluation) -> tuple[str, ...]:
    """The assumed facts of a finding: what its doubt comes from first, what is wanted last."""
    shares = {u.input: u.share for u in finding.unknowns}

    def turn(address: str) -> tuple[bool, float, int, str]:
        wish = address.removeprefix("base:").partition(".")[0] in OWNERS_WORD
        return wish, -shares.get(address, 0.0), _TURN.index(way_to_know(address)), address

    return tuple(sorted((a for a in finding.facts if _is_guess(a, evaluation)), key=turn))


def _is_guess(address: str, evaluation: Evaluation) -> bool:
    plain = address.removeprefix("base:")
    fact = (evaluation.base if plain != address else evaluation).facts.fact(plain)
    return isinstance(fact, Fact) and fact.how is HowKnown.ASSUMED


def with_guesses(findings: Iterable[Finding], evaluation: Evaluation) -> list[Finding]:
    """The findings, each that is open for its guesses alone with what they are."""
    return [
        f.but(guesses=guessed_facts(f, evaluation)) if f.why == RESTS_ON_ASSUMED and f.armed else f
        for f in findings
    ]


def asked_by_name(finding: Finding) -> tuple[str, ...]:
    """The addresses of what a finding asks for by name before all else: all that is missing, or
    the first of its guesses; nothing where nothing can be measured or looked up for it."""
    if finding.verdict is Verdict.UNMEASURED:
        return () if finding.beyond else wanted(finding.missing)
    if finding.waits_for == "a better word":
        return () if _slight(finding) else finding.guesses[:1]
    if finding.waits_for == "narrowing":
        return worth_asking(finding)[:1]
    return ()


def looked_up_first(finding: Finding) -> Unknown | None:
    """The guess from which most of an open finding's doubt comes, where its maker's papers tell
    better: it is looked up before anything is bought. A finding that is short whatever the figure
    turns out to be has none."""
    if finding.verdict is not Verdict.UNSURE or not finding.unknowns:
        return None
    most = max(finding.unknowns, key=lambda u: u.share)
    guess = most.known is HowKnown.ASSUMED and way_to_know(most.input) in ("look up", "read off")
    return most if guess and most.share >= MOST_OF_IT else None


def _slight(finding: Finding) -> bool:
    """Whether there are several guesses and none has a share of its doubt that is worth a line:
    none of them is to be named before another."""
    told = {u.input for u in finding.unknowns}
    return len(finding.guesses) > 1 and bool(told) and not told.intersection(finding.guesses)


def guesses_text(finding: Finding) -> str:
    """What is to be done about the guesses in it: the first by name, the others counted; where none
    of them matters by itself, how many there are and where they stand."""
    named = dict.fromkeys(
        (way_to_know(a), plain_name(a, seen_from=finding.subject)) for a in finding.guesses
    )
    if _slight(finding):
        return (
            f"{len(named)} guesses are in it, none of them a large part of its doubt: each wants a "
            "better word; they are listed with the numbers behind it"
        )
    (way, name), *others = named
    if not others:
        return f"{WAYS[way][1]} {name}"
    more = f"{len(others)} more {'is' if len(others) == 1 else 'are'} guessed"
    return f"{WAYS[way][1]} {name} first; {more}"
