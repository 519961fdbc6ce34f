"""Swept clearance: obstacles folded over all poses into the wheel's half-plane, read by look-up."""

from __future__ import annotations

from .contact import Contact, Contacts, closest
from .field import Core, Envelope, Shapes, envelope, places, rooms, shapes_of
from .folding import Fold, Grid, fold
from .poses import Poses, poses_of_curves, shaken, steered
from .section import Outline, tyre_outline, wheel_outline

__all__ = [
    "Contact", "Contacts", "Core", "Envelope", "Fold", "Grid", "Outline", "Poses", "Shapes",
    "closest", "envelope", "fold", "places", "poses_of_curves", "rooms", "shaken", "shapes_of",
    "steered", "tyre_outline", "wheel_outline",
]  # fmt: skip
