"""The second stage's table of terms for every run."""

from dataclasses import dataclass

import numpy as np

from upsides.ratings.forecast import history as h
from upsides.ratings.forecast import terms
from upsides.ratings.forecast.starters import Floats, Starters, centred
from upsides.ratings.forecast.strengths import strengths

Shared = terms.Past


@dataclass(frozen=True, slots=True)
class Design:
    """Terms centred in each race: names and groups, values of shape (runs, terms)."""

    names: tuple[str, ...]
    groups: tuple[str, ...]
    x: Floats

    def without(self, group: str) -> "Design":
        """Return the design without one group of terms."""
        keep = [i for i, g in enumerate(self.groups) if g != group]
        names, groups = tuple(self.names[i] for i in keep), tuple(self.groups[i] for i in keep)
        return Design(names, groups, np.ascontiguousarray(self.x[:, keep]))


def shared(runs: Starters) -> Shared:
    """Run the first stage and collect what the groups of terms share."""
    day, size = runs.day[runs.race], runs.size[runs.race].astype(float)
    before = h.previous(runs.horse, day)
    runs_before = h.decayed(before, day, np.ones(day.size), 1e9)[1]
    return Shared(
        runs=runs,
        strengths=strengths(runs, (before < 0).astype(float)),
        day=day,
        size=size,
        before=before,
        last=h.chain(before, 2),
        runs_before=runs_before,
        won=(runs.position == 1).astype(float),
        stall=centred(runs, runs.draw / size),
    )


def terms_of(past: Shared) -> Design:
    """Return the terms for every run, each from earlier days only."""
    names, kinds, values = [], [], []
    for group in terms.GROUPS:
        for name, x in group(past).items():
            names.append(name)
            kinds.append(group.__name__)
            values.append(centred(past.runs, x))
    return Design(tuple(names), tuple(kinds), np.ascontiguousarray(np.stack(values, axis=1)))
