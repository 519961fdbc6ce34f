"""Drybuild: a trial assembly of the whole car on the computer."""
