"""Words that the app says to the planner in its own process."""

SUPPOSE, SUPPOSE_NOTHING = "suppose", "suppose nothing"

ENOUGH = "enough"
"""The plan found so far will do."""
