"""Run lengths: how long a sum that is watched day by day goes on before it rings.

A Markov chain over the value at the start of a step. Brook and Evans, Biometrika 1972; Lucas and
Crosier, Technometrics 1982 (head start). Docs/METHODS.md, 'Operating characteristics'.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import spsolve

from .beta_binomial import Array

HALF = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """Where a step leads, and how long it is."""

    moves: Array  # [from, to]: probability of a step that ends there and has not rung
    length: Array  # [from]: mean length of a step; one that rings ends there

    def mean_run(self, start: Array) -> float:
        """Mean length until it rings. `start`: the probability of each state at first."""
        # Sparse: few ways lead out of a state, and a dense solve would take every core.
        staying = csc_array(np.eye(len(self.length)) - self.moves)
        return float(start @ spsolve(staying, self.length))

    def quiet(self, start: Array) -> Iterator[float]:
        """The chance that it has not rung in the first step, the first two, and so on for ever."""
        while True:
            start = start @ self.moves
            yield float(start.sum())

    def median_run(self, start: Array) -> int:
        """In how many whole steps it has rung in half of all runs."""
        return next(n for n, left in enumerate(self.quiet(start), 1) if left <= HALF)

    def rung_within(self, start: Array, steps: int) -> float:
        """The chance that it rings within so many steps."""
        left = self.quiet(start)
        return 1 - [next(left) for _ in range(steps)][-1]

    def settled(self, start: Array, steps: int) -> Array:
        """Where it stands after so many steps if it has not rung."""
        for _ in range(steps):
            start = start @ self.moves
            start = start / start.sum()
        return start


def moves(points: Array, landing: Array, weight: Array) -> Array:
    """Moves between the points of a grid, from where each step lands and with what probability.

    `landing` and `weight` are [from, way]. What lands between two points is shared by both, the
    nearer getting more, so that the mean stays; on a point it is that point's alone. Nothing may
    land beyond the first or last point but with weight 0.
    """
    states = len(points)
    left = np.clip(np.searchsorted(points, landing, side="right") - 1, 0, states - 2)
    share = np.clip((landing - points[left]) / (points[left + 1] - points[left]), 0, 1)
    cell = np.arange(states)[:, None] * states + left
    flat = np.zeros(states * states)
    flat += np.bincount(cell.ravel(), (weight * (1 - share)).ravel(), flat.size)
    flat += np.bincount(cell.ravel() + 1, (weight * share).ravel(), flat.size)
    return flat.reshape(states, states)


def starting_at(points: Array, value: float) -> Array:
    """A start at one value, shared by the points beside it as a step that lands there."""
    whole: Array = np.eye(len(points))[:, :1]
    landing = np.full(whole.shape, value)
    start: Array = moves(points, landing, whole)[0]
    return start
