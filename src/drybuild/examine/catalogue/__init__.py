"""Searches over parts: what fits an axle, and what must change so that one thing does."""

from drybuild.examine.catalogue.candidates import Candidate, Field
from drybuild.examine.catalogue.inverse import Answer, Group, MustFit, MustFitAnswer, must_fit
from drybuild.examine.catalogue.ladders import Step
from drybuild.examine.catalogue.lists import read_list
from drybuild.examine.catalogue.moved import Figure, Moves, Turned
from drybuild.examine.catalogue.search import Offer, Wanted, WhatFits, what_fits
from drybuild.examine.catalogue.window import Window

__all__ = [
    "Answer",
    "Candidate",
    "Field",
    "Figure",
    "Group",
    "Moves",
    "MustFit",
    "MustFitAnswer",
    "Offer",
    "Step",
    "Turned",
    "Wanted",
    "WhatFits",
    "Window",
    "must_fit",
    "read_list",
    "what_fits",
]
