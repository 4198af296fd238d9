"""What every section of a report rests on, worked out once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError
from roadwatch.identify.tables import identify_tables
from roadwatch.roads.effort import search_effort
from roadwatch.roads.network import build_network
from roadwatch.roads.stretches import cut_stretches
from roadwatch.season.animals import find_animals
from roadwatch.season.open_season import OpenSeason
from roadwatch.season.own_tables import tables_folder
from roadwatch.season.road_records import sure_of

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

    from roadwatch.identify.identities import Identities
    from roadwatch.records.store import Season


@dataclass(frozen=True)
class Ground:
    """
    A season's animals and searches, up to the end of the year reported on.

    Parameters
    ----------
    season
        The season as its audience has it: for the public one of open crossings alone.
    year, first_year
        The year reported on, and the first with a record or a search.
    as_of
        The day on which the reader stands.
    animals
        One row an animal of all those years: the stored columns, ``count``, ``year``.
    n_records
        Records behind each animal's year: year -> number.
    searches
        The searches of those years, with ``year``.
    km
        Year -> kilometres searched on the roads of the layer; empty where no search is on file.
    sure
        How sure we are of each animal; None where nothing says how common taxa are.
    """

    season: Season
    year: int
    first_year: int
    as_of: date
    animals: pd.DataFrame
    n_records: dict[int, int]
    searches: pd.DataFrame
    km: dict[int, float]
    sure: Identities | None

    @property
    def is_open(self) -> bool:
        """Whether it holds only what is public."""
        return isinstance(self.season, OpenSeason)

    def of_year(self, year: int | None = None) -> pd.DataFrame:
        """Animals of one year, the one reported on where none is named."""
        return self.animals[self.animals["year"] == (self.year if year is None else year)]

    def years(self) -> list[int]:
        """Every year from the first to the one reported on."""
        return list(range(self.first_year, self.year + 1))


def ground_of(season: Season, *, year: int | None, as_of: date) -> Ground:
    """
    Gather what a report rests on.

    Parameters
    ----------
    season
        An open season.
    year
        The year reported on; None is the last with a record, search or nest up to ``as_of``.
    as_of
        Later records are not used.

    Raises
    ------
    NotEnoughDataError
        There is no crossing, search or nest up to that year.
    """
    crossings, searches, nests = season.read("crossings"), season.read("searches"), season.read("nests")
    seen = [
        day[:4]
        for day in [*crossings["observed_at"].dropna(), *searches["started_at"].dropna(), *nests["found_at"].dropna()]
        if day[:10] <= as_of.isoformat()
    ]
    told = sorted({int(one) for one in seen if year is None or int(one) <= year})
    if not told:
        up_to = f"up to {year}" if year is not None else f"up to {as_of}"
        raise NotEnoughDataError(
            f"not enough data: no crossing, search or nest {up_to} is on file; ingest records, or name another --year"
        )
    reported = told[-1] if year is None else year
    network = build_network(season.read("roads"))
    found = find_animals(season, network)
    animals = found.merged_view()
    animals = animals.assign(year=animals["observed_at"].str[:4].astype(int))
    animals = animals[(animals["year"] <= reported) & (animals["observed_at"].str[:10] <= as_of.isoformat())]
    animals = animals.reset_index(drop=True)
    searches = searches.assign(year=searches["started_at"].str[:4].astype(int))
    searches = searches[(searches["year"] <= reported) & (searches["started_at"].str[:10] <= as_of.isoformat())]
    km = {}
    if len(searches):
        effort = search_effort(network, cut_stretches(network), searches)
        km = {year: float(np.nansum(length)) for year, length in sorted(effort.km_by_year.items())}
    tables = identify_tables(tables_folder(season))
    return Ground(
        season,
        reported,
        told[0],
        as_of,
        animals,
        _records_by_year(crossings, as_of=as_of),
        searches,
        km,
        sure_of(animals, region=season.settings.get("region"), tables=tables) if len(animals) else None,
    )


def _records_by_year(crossings: pd.DataFrame, *, as_of: date) -> dict[int, int]:
    days = crossings["observed_at"].dropna().astype(str)
    years = days[days.str[:10] <= as_of.isoformat()].str[:4].tolist()
    return {int(year): years.count(year) for year in set(years)}
