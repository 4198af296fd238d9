"""Draw places by their chances, quickly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray, IntArray

STEPS_PER_PLACE = 4
"""Steps of the guide table for each place; more of them mean fewer places to look through after a step."""


def running_share(chance: FloatArray) -> FloatArray:
    """
    Running sum of chances, ending at 1.

    Parameters
    ----------
    chance
        (n,) Chances, in any unit.

    Returns
    -------
    (n,) Shares; all 0 where no place has a chance.
    """
    total = np.cumsum(chance)
    return np.asarray(total / max(total[-1], 1e-300), dtype=np.float64)


@dataclass(frozen=True)
class Lots:
    """
    Chances with a guide table.

    Parameters
    ----------
    reach
        (n,) Running share of the chances.
    guide
        (steps,) First place that a number of each step can fall on.
    """

    reach: FloatArray
    guide: IntArray

    @classmethod
    def of(cls, chance: FloatArray) -> Lots:
        """
        Prepare chances.

        Parameters
        ----------
        chance
            (n,) Chances, in any unit.
        """
        reach = running_share(chance)
        steps = STEPS_PER_PLACE * len(reach)
        return cls(reach, np.searchsorted(reach, np.arange(steps) / steps, side="right").astype(np.int64))

    def draw(self, u: FloatArray) -> IntArray:
        """
        Find the place on which each number falls: the first whose running share exceeds it.

        Parameters
        ----------
        u
            Numbers from 0 up to 1, any shape.

        Returns
        -------
        Array of the shape of ``u``; the same as a search by halving would find.
        """
        flat = u.ravel()
        step = (flat * len(self.guide)).astype(np.int64) - 1  # one back, as the product may have been rounded up
        place = self.guide[np.maximum(step, 0)]
        short = np.flatnonzero(self.reach[place] <= flat)
        while len(short):
            place[short] += 1
            short = short[self.reach[place[short]] <= flat[short]]
        return place.reshape(u.shape)
