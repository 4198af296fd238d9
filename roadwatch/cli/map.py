"""``roadwatch map``."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import DAY, audience_option, json_option, season_argument, seed_option, today
from roadwatch.cli.output import print_json, print_notes, progress, report_written
from roadwatch.errors import NotEnoughDataError

if TYPE_CHECKING:
    from datetime import date

    import geopandas as gpd
    import pandas as pd

    from roadwatch.records.store import Season
    from roadwatch.share.masking import Audience


NO_WINDOWS = "No hatch windows: not enough data; the map for the team says what is missing."


def hotspots_for(season: Season, *, seed: int, notes: list[str]) -> gpd.GeoDataFrame | None:
    """Hotspots of a season, which for the public is an open one; where it holds too few records, a note says so."""
    import numpy as np

    from roadwatch.season.mortality import season_hotspots

    try:
        found = season_hotspots(season, rng=np.random.default_rng(seed), progress=progress("re-scattering the records"))
    except NotEnoughDataError as error:
        notes.append(f"No hotspots: {error}.")
        return None
    notes.extend(found.notes)
    return found.hotspots


def windows_for(season: Path, *, as_of: date, seed: int, notes: list[str]) -> pd.DataFrame | None:
    """The season's hatch windows; where something needed is missing, a note says what."""
    import numpy as np

    from roadwatch.season.nests import season_windows

    try:
        found = season_windows(season, as_of=as_of, rng=np.random.default_rng(seed))
    except NotEnoughDataError as error:
        notes.append(f"No hatch windows: {error}.")
        return None
    notes.extend(found.notes)
    return found.table


def names_rest_on(season: Path) -> str:
    """The tables of identification that masking rests on, also where there is neither a hotspot nor a window."""
    from roadwatch.identify.tables import identify_tables, version_note
    from roadwatch.records.store import Season
    from roadwatch.season.own_tables import tables_folder

    return version_note(identify_tables(tables_folder(Season.open(season))))


@click.command("map")
@season_argument
@click.option("-o", "--output", required=True, type=click.Path(path_type=Path, dir_okay=False), help="FILE.html.")
@click.option("--as-of", type=DAY, help="The day for which hatch windows are shown; default: today.")
@click.option("--title", default="Turtles on our roads", show_default=True, help="Heading of the page.")
@audience_option
@seed_option
@json_option
def command(
    season: Path, output: Path, as_of: date | None, title: str, audience: Audience, seed: int, as_json: bool
) -> None:
    """
    Draw the season as one web page: roads, crossings, hotspots, nests. It opens by double click, without a network.

    Example: roadwatch map county.gpkg -o map.html --for team
    """
    from roadwatch.render.content import MapContent
    from roadwatch.render.page import season_map
    from roadwatch.season.public_view import season_view
    from roadwatch.share.public_words import NOTED_WORDS
    from roadwatch.share.writers import refuse_target, write_text

    day = as_of or today()
    notes: list[str] = []
    about_nests: list[str] = []
    refuse_target(output)  # before the view, which notes what becomes public
    windows = windows_for(season, as_of=day, seed=seed, notes=about_nests)
    hotspots = partial(hotspots_for, seed=seed, notes=notes)
    view = season_view(season, audience=audience, today=day, hotspots=hotspots, windows=windows)
    if audience == "public":  # what is told of windows counts nests, names loggers and says when nests were laid
        about_nests = [NO_WINDOWS] if windows is None else []
    notes = list(dict.fromkeys([*notes, *about_nests, names_rest_on(season)]))
    content = MapContent(
        title=title,
        subtitle=f"Records of {view.years[0]} to {view.years[1]}, as of {day.isoformat()}",
        audience=audience,
        places=view.places,
        hotspots=view.hotspots,
        roads=view.roads,
        water=view.water,
        protected=view.protected,
        measures=view.measures,
        notes=(*notes, f"Seed {seed}."),
    )
    write_text(season_map(content), output)
    if as_json:
        print_json({"file": str(output), "audience": audience, "notes": notes, "seed": seed})
    else:
        report_written(output, as_json=False)
        print_notes([NOTED_WORDS] if audience == "public" else [])
