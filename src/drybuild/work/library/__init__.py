"""The work library: what stands in the way of what, and what taking it off costs, as data.

Three outlines of car, each with an access graph; what is common to all stands once. It is trade
judgement, common practice without a source: a build's ``work.toml`` goes over it.
"""

from drybuild.work.library.reader import (
    Library,
    Where,
    load,
    outline_of,
    outlines,
    overlaid,
    tool_words,
)

__all__ = ["Library", "Where", "load", "outline_of", "outlines", "overlaid", "tool_words"]
