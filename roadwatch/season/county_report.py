"""From a season file to the report for a county board."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError
from roadwatch.records.store import Season
from roadwatch.season.mortality import season_hotspots
from roadwatch.season.public_view import season_view
from roadwatch.season.report_ground import ground_of
from roadwatch.season.report_nests import nests_section
from roadwatch.season.report_seen import seen_section, taxa_section, when_section
from roadwatch.season.report_where import averted_section, predicts_section, where_section
from roadwatch.season.report_years import years_section
from roadwatch.season.road_curves import curves_of
from roadwatch.share.report_parts import CountyReport, Section

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    import geopandas as gpd

    from roadwatch.season.mortality import Progress, SeasonHotspots
    from roadwatch.share.masking import Audience


def county_report(
    path: Path,
    *,
    audience: Audience,
    as_of: date,
    year: int | None = None,
    fence_m: float = 1000.0,
    seed: int = 1,
    file_name: str = "",
    progress: Progress | None = None,
) -> CountyReport:
    """
    Put a season into sections of sentences, figures and tables.

    For the public everything about roads is found from the crossings that are public already, so that the report
    tells no more of a place than the map does; of nests it tells numbers only. What the public gets is noted in the
    season as a release.

    Parameters
    ----------
    path
        The season file.
    audience
        ``public`` or ``team``.
    as_of
        The day up to which counts and nests go; hotspots and fences use the whole year.
    year
        The year reported on; None is the last on file.
    fence_m
        Length of fence for which the deaths averted are told.
    seed
        Makes every random result repeatable.
    file_name
        Of the report, for the list of releases.
    progress
        Called with scatterings done and those in all.

    Raises
    ------
    UsageError
        The season does not exist.
    NotEnoughDataError
        Nothing is on file up to that year.
    """
    rng = np.random.default_rng(seed)
    find_rng, curve_rng, when_rng, fence_rng = rng.spawn(4)
    held: list[SeasonHotspots] = []
    lacking: list[str] = []
    last = year or as_of.year

    def find(season: Season) -> gpd.GeoDataFrame | None:
        try:
            held.append(season_hotspots(season, rng=find_rng, years=(0, last), progress=progress))
        except NotEnoughDataError as error:
            lacking.append(f"{error}.")
            return None
        return held[0].hotspots

    ground_of(Season.open(path), year=year, as_of=as_of)  # before the view, which notes what becomes public
    view = season_view(path, audience=audience, today=as_of, hotspots=find, what="report", file_name=file_name)
    try:
        ground = ground_of(view.opened, year=year, as_of=as_of)
    except NotEnoughDataError:
        ground = None
    found = held[0] if held else None
    sections: list[Section] = []
    if ground is None:
        words = "Nothing that may be shown to the public is on file for roads; the report for the team tells more."
        sections.append(Section("seen", "What was seen, and by how much search", lacking=words))
    else:
        curves = curves_of(found, rng=curve_rng) if found is not None else ()
        sections += [
            seen_section(ground),
            taxa_section(ground),
            when_section(ground, rng=when_rng),
            where_section(found, view.hotspots, curves, ground, lacking=" ".join(lacking)),
            predicts_section(found),
            averted_section(ground, fence_m=fence_m, rng=fence_rng),
        ]
    sections.append(nests_section(path, as_of=as_of, audience=audience))
    if ground is not None:
        sections.append(years_section(ground))
    sections.append(_method(sections, seed=seed))
    reported = ground.year if ground else last
    first = ground.first_year if ground else last
    return CountyReport(audience, reported, first, tuple(sections), view.places.statements)


def _method(sections: list[Section], *, seed: int) -> Section:
    notes = list(dict.fromkeys(note for section in sections for note in section.notes))
    return Section("method", "Method and limits", (*notes, f"Seed {seed}; the same seed gives the same report."))
