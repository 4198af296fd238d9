"""Would the map of the season's other years have told where its animals died?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.hotspots.validation import Validation, validate_hotspots
from roadwatch.roads.near import stretches_near

if TYPE_CHECKING:
    from roadwatch.season.mortality import Mortality


def validate_mortality(mortality: Mortality, *, half_width_m: float = 300.0) -> Validation:
    """
    Leave out each year in turn and ask whether the others would have told where its animals died.

    Parameters
    ----------
    mortality
        The deaths, as they were tested.
    half_width_m
        Half-width of the kernel along the roads, metres.

    Raises
    ------
    NotEnoughDataError
        Records of one year only, or too few.
    """
    water = mortality.season.read("water")
    near_water = stretches_near(mortality.network, mortality.stretches, water) if len(water) else None
    return validate_hotspots(
        mortality.network,
        mortality.stretches,
        mortality.records,
        effort_km=mortality.effort_km,
        half_width_m=half_width_m,
        near_water=near_water,
    )
