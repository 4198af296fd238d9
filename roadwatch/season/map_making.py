"""What a season's map holds for its audience: places, every answer, windows, saved results, what to say of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError
from roadwatch.identify.tables import identify_tables, version_note
from roadwatch.records.store import Season
from roadwatch.records.taxa import taxonomy_of
from roadwatch.season.map_view import ANSWER_WORDS, map_answers
from roadwatch.season.mortality import season_hotspots
from roadwatch.season.nests import season_windows
from roadwatch.season.own_tables import tables_folder
from roadwatch.season.public_view import season_view
from roadwatch.season.saved_results import saved_results

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    import geopandas as gpd
    import pandas as pd

    from roadwatch.records.taxonomy import Taxonomy
    from roadwatch.season.mortality import Progress, SeasonHotspots
    from roadwatch.season.public_view import SeasonView
    from roadwatch.share.map_parts import DrawnResult, HotspotAnswer
    from roadwatch.share.masking import Audience

NO_WINDOWS = "No hatch windows: not enough data; the map for the team says what is missing."


@dataclass(frozen=True)
class SeasonMap:
    """
    A season, ready to be drawn.

    Parameters
    ----------
    view
        Places, hotspots of all records and layers, as the audience may see them.
    answers
        Hotspots for the choices of year and taxon, all records first; empty where too few are on file.
    drawn
        Saved results.
    taxonomy
        The season's taxa.
    notes
        What belongs beside the map, in words.
    on_files
        Of these, what was not drawn of the saved results and why.
    """

    view: SeasonView
    answers: tuple[HotspotAnswer, ...]
    drawn: tuple[DrawnResult, ...]
    taxonomy: Taxonomy
    notes: tuple[str, ...]
    on_files: tuple[str, ...] = ()


def make_map(
    path: Path,
    *,
    audience: Audience,
    as_of: date,
    seed: int = 1,
    saved: tuple[Path, ...] = (),
    only_first: bool = False,
    progress: Progress | None = None,
) -> SeasonMap:
    """
    Gather a season's map.

    Parameters
    ----------
    path
        The season file; what the public gets is noted in it as a release.
    audience
        ``public`` or ``team``.
    as_of
        The day for which windows are shown.
    seed
        Makes every random result repeatable.
    saved
        Files of fence runs, signs and rounds.
    only_first
        Hotspots of all records only, none for the choices of the page.
    progress
        Called with work done and work in all.

    Raises
    ------
    UsageError
        The season or a saved file does not exist.
    UnfitFileError
        A saved file is no result.
    """
    season = Season.open(path)
    drawn, on_files = saved_results(saved, season, audience=audience)
    windows, on_nests = season_windows_or_why(path, as_of=as_of, seed=seed)
    held: list[SeasonHotspots] = []
    notes: list[str] = []

    def find(opened: Season) -> gpd.GeoDataFrame | None:
        try:
            held.append(season_hotspots(opened, rng=np.random.default_rng(seed), progress=progress))
        except NotEnoughDataError as error:
            notes.append(f"No hotspots: {error}.")
            return None
        notes.extend(held[0].notes)
        return held[0].hotspots

    view = season_view(path, audience=audience, today=as_of, hotspots=find, windows=windows)
    found = held[0] if held else None
    answers = map_answers(view, found, seed=seed, only_first=only_first, progress=progress)
    if audience == "public":  # what is told of windows counts nests, names loggers and says when nests were laid
        on_nests = (NO_WINDOWS,) if windows is None else ()
    own = tables_folder(season)
    on_names = version_note(identify_tables(own))
    on_choices = (ANSWER_WORDS,) if len(answers) > 1 else ()
    told = tuple(dict.fromkeys([*notes, *on_choices, *on_nests, *on_files, on_names]))
    return SeasonMap(view, answers, drawn, taxonomy_of(own), told, on_files)


def season_windows_or_why(path: Path, *, as_of: date, seed: int) -> tuple[pd.DataFrame | None, tuple[str, ...]]:
    """The season's hatch windows with their notes; where something needed is missing, a note says what."""
    try:
        found = season_windows(path, as_of=as_of, rng=np.random.default_rng(seed))
    except NotEnoughDataError as error:
        return None, (f"No hatch windows: {error}.",)
    return found.table, found.notes
