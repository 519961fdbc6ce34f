"""Searches over parts: what fits an axle, and what must change so that one thing does."""

from drybuild.examine.catalogue.candidates import Candidate, Field
from drybuild.examine.catalogue.lists import read_list
from drybuild.examine.catalogue.moved import Figure, Moves, Turned
from drybuild.examine.catalogue.search import Offer, Wanted, WhatFits, what_fits
from drybuild.examine.catalogue.window import Window

__all__ = [
    "Candidate",
    "Field",
    "Figure",
    "Moves",
    "Offer",
    "Turned",
    "Wanted",
    "WhatFits",
    "Window",
    "read_list",
    "what_fits",
]
