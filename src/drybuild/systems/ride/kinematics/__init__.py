"""Linkage kinematics: where a wheel stands and how it moves, from hardpoints.

`linkage` describes a corner, `solve` finds its poses, `motion` their rates, `curves` and `wheel`
what the wheel does, `carried` springs, bars and shafts, `adjust` what adjusters cost; `beam` and
`axle` are the twist beam and the live axle.
"""
