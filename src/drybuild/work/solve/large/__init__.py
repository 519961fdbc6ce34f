"""Plans of hundreds of components and jobs, on two levels.

A boolean master chooses what is done in which session and knows no times; each session is then
scheduled by itself, and what cannot be together in it goes back to the master as a cut. The master
first fills blocks of sessions, then each block is spread over its sessions; a plan that stands is
made better by filling some blocks, or some regions of the car, anew.
"""

from __future__ import annotations

from drybuild.work.solve.large.solver import is_large, solve_large

__all__ = ["is_large", "solve_large"]
