"""What to say wherever an animal is looked at: traffic first, then the animal, the hands, and the law."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from roadwatch.identify.characters import View
    from roadwatch.identify.tables import Tables

BITING_FAMILIES = ("Chelydridae", "Trionychidae", "Kinosternidae")
"""Families whose bite hurts; common practice, no source."""

BITES_FROM = 0.05
"""Warned of from this probability."""

TRAFFIC = (
    "Traffic first: park off the carriageway, hazard lights, high-visibility vest, face the traffic, children stay in "
    "the car; never stop in a live lane, and never work on a motorway, at night or in fog without the road agency."
)
BITES = (
    "It may bite: keep your hands away from its head, never lift it by the tail; push it with a mat or shovel, or hold "
    "only the rear of the shell, low."
)
MOVE = (
    "Move a live turtle straight across in the direction it was heading; never home, never to 'better' water, never a "
    "box turtle or tortoise into water."
)
HANDS = "Wash your hands after touching any turtle or carcass; all can carry Salmonella."
INJURED = (
    "Injured, or a dead female that may hold eggs: note the exact place, dry ventilated box, shade, no food or water, "
    "and call a licensed wildlife rehabilitator."
)
LAW = (
    "Handling, keeping a carcass, opening a nest, and any listed species need permits; rules differ and change: ask "
    "your state wildlife agency."
)


def cautions(p: NDArray[np.float64], tables: Tables, *, view: View | None) -> tuple[str, ...]:
    """
    What to mind with this animal, traffic first.

    Parameters
    ----------
    p
        (taxa,) probabilities of the animal.
    tables
        The tables.
    view
        How it is seen; a carcass bites nobody and crosses nothing.

    Source
    ------
    common_practice
    """
    bites = sum(
        share
        for taxon, share in zip(tables.taxa, p, strict=True)
        if tables.tree.held_at(taxon, "family") in BITING_FAMILIES
    )
    alive = view != "carcass"
    return (
        TRAFFIC,
        *((BITES,) if alive and bites >= BITES_FROM else ()),
        *((MOVE,) if alive else ()),
        HANDS,
        INJURED,
        LAW,
    )
