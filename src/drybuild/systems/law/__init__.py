"""Law: rule sets as data, and how far inside them the car lies. A reading aid, not the law."""

from __future__ import annotations

from drybuild.findings import Room
from drybuild.systems.law import checks, results
from drybuild.systems.law.rules import rule_sets

room = Room("law", title="law and rulebooks")
results.register(room)
checks.register(room)


def rule_set_editions() -> dict[str, str]:
    """Id and edition of every rule set that comes with the program."""
    return {rules.id: rules.edition for rules in rule_sets().values()}


__all__ = ["room", "rule_set_editions", "rule_sets"]
