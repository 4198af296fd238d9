"""From a trial with placed carcasses, and the searches on file, to the share of the killed that is recorded."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.carcass_files import read_carcass_trial
from roadwatch.hotspots.carcasses import draw_recorded_share, recorded_share
from roadwatch.roads.effort import search_effort

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.hotspots.carcasses import CarcassTrial
    from roadwatch.records.store import Season
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

NO_TRIAL = (
    "Deaths are those of carcasses found: no carcass trial was given (--carcass-trial) and none is assumed, so the "
    "animals killed, and the deaths averted, are more than is told."
)

KILLED = "Deaths are those of animals killed: by your carcass trial"
"""How a note begins that says so."""


def season_carcass_trial(path: Path, season: Season, network: Network, stretches: Stretches) -> CarcassTrial:
    """
    Fit a trial, with the days between searches taken from those on file.

    Parameters
    ----------
    path
        Table of the trial.
    season, network, stretches
        The open season, its roads, and the stretches cut from them.

    Raises
    ------
    UsageError
        There is no such file, every carcass outlasted it, or none was searched for.
    UnfitFileError
        The table does not fit.
    NotEnoughDataError
        No road was searched twice in a year.
    """
    table = read_carcass_trial(path)
    return table.trial(days_between(season.read("searches"), network, stretches))


def days_between(searches: pd.DataFrame, network: Network, stretches: Stretches) -> float:
    """
    Mean days from one search of a piece of road to the next in the same year, over all road searched.

    Parameters
    ----------
    searches
        Searches on file.
    network, stretches
        The roads, and the stretches cut from them.

    Raises
    ------
    NotEnoughDataError
        No road was searched twice in a year.
    """
    gaps = weight = 0.0
    dated = searches[searches["started_at"].notna()] if len(searches) else searches
    for _, own in dated.groupby(dated["started_at"].str[:4]) if len(dated) else ():
        day = pd.to_datetime(own["started_at"].str[:10]).dt.day_of_year
        coded = own.assign(started_at=[f"{one:04d}" for one in day])
        last = np.full(len(stretches.edge), np.nan)
        for number, km in sorted(search_effort(network, stretches, coded).km_by_year.items()):
            here = np.nan_to_num(km) > 0.0
            again = here & np.isfinite(last)
            gaps += float(((number - last[again]) * stretches.length_m[again]).sum())
            weight += float(stretches.length_m[again].sum())
            last[here] = number
    if not weight > 0.0:
        raise NotEnoughDataError(
            "not enough data: a carcass trial needs roads that were searched at least twice in a year, to know the "
            "days between searches; ingest the searches, or leave --carcass-trial out"
        )
    return gaps / weight


def trial_words(trial: CarcassTrial | None, *, rng: np.random.Generator) -> str:
    """
    Say whether deaths are of animals killed or of carcasses found, and by what.

    Parameters
    ----------
    trial
        The trial, None where none was given.
    rng
        Source of chance for the interval of the share.
    """
    if trial is None:
        return NO_TRIAL
    return f"{KILLED} {_share_words(trial, rng)}"


def killed_words(trial: CarcassTrial | None, *, rng: np.random.Generator) -> tuple[str, ...]:
    """
    Say by what the columns of animals killed were made; nothing without a trial.

    Parameters
    ----------
    trial
        The trial, None where none was given.
    rng
        Source of chance for the interval of the share.
    """
    if trial is None:
        return ()
    told = (
        "killed_per_km_year counts animals killed, deaths count carcasses found, and the test is one of carcasses "
        f"found. By your carcass trial {_share_words(trial, rng)}"
    )
    return (told,)


def _share_words(trial: CarcassTrial, rng: np.random.Generator) -> str:
    low, high = np.quantile(draw_recorded_share(trial, rng, n_draws=4000), [0.025, 0.975])
    return (
        f"{central_share(trial):.0%} of them are recorded (95 % interval {low:.0%} to {high:.0%}; it widens their "
        f"intervals). A carcass lies {trial.persistence_days:.2g} days on average, one search finds "
        f"{trial.found_share:.0%} of those that lie there, and a road was searched every "
        f"{trial.days_between_searches:.2g} days on average. One share is taken for all roads, kinds of carcass and "
        "searchers, and none for days outside the searched weeks."
    )


def central_share(trial: CarcassTrial | None) -> float:
    """
    Share of the killed that is recorded, by the trial's best values; 1 without a trial.

    Parameters
    ----------
    trial
        The trial.
    """
    if trial is None:
        return 1.0
    days, found, between = trial.persistence_days, trial.found_share, trial.days_between_searches
    return float(recorded_share(days, found, between, looked_again=trial.looked_again))
