"""Levels of races and horses that do not move: a mixed model with two crossed effects, exact or iterative."""

from upsides.ratings.crossed.fit import fit_crossed, solve_crossed
from upsides.ratings.crossed.fitted import CrossedFit

__all__ = ["CrossedFit", "fit_crossed", "solve_crossed"]
