"""Rules on nests and their checks: each check has its nest, and no more hatchlings than eggs."""

from __future__ import annotations

import numpy as np
import pandas as pd

from roadwatch.records.rules import CheckContext, Faulty, is_day_after, number_of, rule, text_of

_WINTER = ("11", "12", "01", "02")
_WARM_NESTERS = ("Trachemys", "Pseudemys", "Graptemys", "Malaclemys")

BEYOND_USUAL_CLUTCH = 2.0
"""A clutch this many times the most that the accounts call usual is asked about (a convention)."""

SHORTEST_INCUBATION_DAYS = 45
"""Hatchlings sooner after laying are asked about (a convention; the shortest incubation read of is 60 days)."""

FARTHEST_ACCESS_KM = 2.0
"""A way to the nest that leaves the road farther off is asked about (a convention)."""

_KM_PER_DEGREE = 111.2
_OVER = ("depredated_full", "emerged", "failed_undeveloped", "failed_other", "crushed_or_mown")
_LIVE = ("intact", "emerging", "hatched_overwintering")


@rule(
    "sliders, cooters, map turtles and terrapins do not nest from November to February",
    kinds=("nests",),
    severity="ask",
    columns=("found_at", "taxon"),
    fault="a nest of {taxon} found on {found_at} is out of its season",
    cure="say in the notes whether it was new; a nest laid in another season has its laid_from and laid_to",
)
def is_winter_nest(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """
    A nest in the cold months of a turtle that lays in the warm ones, by the day of laying where it is known.

    Chicken and striped mud turtles lay from autumn to spring: nothing is asked of them.
    """
    laid = text_of(table, "laid_on").where(text_of(table, "laid_on") != "", text_of(table, "laid_from"))
    day = laid.where(laid != "", text_of(table, "found_at"))
    taxa = text_of(table, "taxon")
    is_warm_nester = np.any([context.taxonomy.within(taxa, asked=genus) for genus in _WARM_NESTERS], axis=0)
    return np.logical_and(is_warm_nester, day.str[5:7].isin(_WINTER).to_numpy(dtype=bool))


@rule(
    "a check belongs to a known nest",
    kinds=("checks",),
    severity="ask",
    columns=("nest_id",),
    fault="nest_id {nest_id} is not among the nests",
    cure="add the nest, or correct its name here",
)
def is_check_of_unknown_nest(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """The nest's name is in no list of nests; without a list nothing is asked."""
    named = text_of(table, "nest_id")
    if context.nests is None:
        return np.zeros(len(table), dtype=bool)
    return (~named.isin(context.nests["nest_id"].dropna().unique()) & (named != "")).to_numpy(dtype=bool)


@rule(
    "a nest is checked after it was found",
    kinds=("checks",),
    severity="hold back",
    columns=("checked_at", "nest_id"),
    fault="nest {nest_id} was checked at {checked_at}, before it was found",
    cure="correct the day of the check, the name of the nest, or the day it was found",
)
def is_check_before_finding(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """The check's day lies before the day on which the nest was found."""
    return is_day_after(_of_nest(table, "found_at", context), text_of(table, "checked_at"))


@rule(
    "a nest is checked after it was laid",
    kinds=("checks",),
    severity="hold back",
    columns=("checked_at", "nest_id"),
    fault="nest {nest_id} was checked at {checked_at}, before it was laid",
    cure="correct the day of the check, the name of the nest, or the day of laying",
)
def is_check_before_laying(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """The check's day lies before the day of laying, or before its first possible day."""
    laid, first = (_of_nest(table, name, context) for name in ("laid_on", "laid_from"))
    return is_day_after(laid.where(laid != "", first), text_of(table, "checked_at"))


@rule(
    "no more hatchlings and eggs are counted than were laid",
    kinds=("checks",),
    severity="ask",
    columns=("hatchlings_live", "hatchlings_dead", "eggs_unhatched", "nest_id"),
    fault="hatchlings and unhatched eggs of nest {nest_id} are more than its clutch",
    cure="count again in the notes, or correct clutch_size of the nest",
)
def is_more_than_clutch(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """One visit's counts add up to more than the clutch."""
    counts = ("hatchlings_live", "hatchlings_dead", "eggs_unhatched")
    total = np.nansum([number_of(table, name) for name in counts], axis=0)
    clutch = pd.to_numeric(_of_nest(table, "clutch_size", context).replace("", np.nan).astype(object))
    is_more: Faulty = total > clutch.to_numpy(dtype=np.float64)
    return is_more


@rule(
    "a clutch is not much larger than is usual for its taxon",
    kinds=("nests",),
    severity="ask",
    columns=("clutch_size", "taxon"),
    fault="clutch_size {clutch_size} is more than twice the most that is usual for {taxon}",
    cure="look at the name first, then at the count; two females may have laid in one place",
)
def is_beyond_clutch(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """More eggs than twice the upper end of what the accounts call usual; nothing where no account was read."""
    taxa = text_of(table, "taxon")
    most = taxa.map({name: context.taxonomy.usual_clutch(name) for name in taxa.unique()}).to_numpy(dtype=np.float64)
    is_large: Faulty = number_of(table, "clutch_size") > BEYOND_USUAL_CLUTCH * most
    return is_large


@rule(
    "the way to a nest leaves the road near it",
    kinds=("nests",),
    severity="ask",
    columns=("access_longitude", "access_latitude", "longitude", "latitude"),
    fault="access_longitude {access_longitude}, access_latitude {access_latitude} lies more than 2 km from the nest",
    cure="correct the place of the access or of the nest",
)
def is_far_access(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Farther than 2 km, on the flat."""
    north_km = (number_of(table, "access_latitude") - number_of(table, "latitude")) * _KM_PER_DEGREE
    width = np.cos(np.radians(number_of(table, "latitude"))) * _KM_PER_DEGREE
    east_km = (number_of(table, "access_longitude") - number_of(table, "longitude")) * width
    is_far: Faulty = np.hypot(east_km, north_km) > FARTHEST_ACCESS_KM
    return is_far


@rule(
    "an intact nest has no hatchlings outside",
    kinds=("checks",),
    severity="ask",
    columns=("outcome", "hatchlings_live", "hatchlings_dead"),
    fault="outcome intact is given with hatchlings: {found}",
    cure="write emerging or emerged, or leave the counts blank",
)
def is_intact_with_hatchlings(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Intact, and hatchlings counted."""
    is_intact = (text_of(table, "outcome") == "intact").to_numpy(dtype=bool)
    counted = np.nansum([number_of(table, "hatchlings_live"), number_of(table, "hatchlings_dead")], axis=0)
    is_odd: Faulty = is_intact & (counted > 0)
    return is_odd


@rule(
    "hatchlings do not emerge within 45 days of laying",
    kinds=("checks",),
    severity="ask",
    columns=("checked_at", "outcome", "nest_id"),
    fault="nest {nest_id} is {outcome} at {checked_at}, less than 45 days after it was laid",
    cure="correct the day of laying or of the check, the name of the nest, or the outcome",
)
def is_early_emergence(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """Emerging or emerged sooner after the day of laying than any account gives."""
    is_out = text_of(table, "outcome").isin(["emerging", "emerged"]).to_numpy(dtype=bool)
    laid, seen = _of_nest(table, "laid_on", context), text_of(table, "checked_at")
    days = (_days(seen) - _days(laid)).dt.days.to_numpy(dtype=np.float64)
    return is_out & (days >= 0) & (days < SHORTEST_INCUBATION_DAYS)


@rule(
    "a nest that ended is not alive at a later check",
    kinds=("checks",),
    severity="ask",
    columns=("outcome", "checked_at", "nest_id"),
    fault="nest {nest_id} is {outcome} at {checked_at}, after an earlier check had found its end",
    cure="correct the outcome of one of the two checks, or the name of the nest",
)
def is_alive_after_end(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Intact or emerging on a later day than one on which the same nest was found destroyed, failed or empty."""
    day, nest, outcome = text_of(table, "checked_at").str[:10], text_of(table, "nest_id"), text_of(table, "outcome")
    ended = day.where(outcome.isin(_OVER) & (day != "")).groupby(nest).transform("min")
    is_later = (day > ended.where(ended.notna(), "9999")) & (nest != "")
    return (is_later & outcome.isin(_LIVE)).to_numpy(dtype=bool)


def _days(texts: pd.Series) -> pd.Series:
    return pd.to_datetime(texts.str[:10].where(texts != "", None), errors="coerce")


def _of_nest(table: pd.DataFrame, column: str, context: CheckContext) -> pd.Series:
    """What the list of nests says of each check's nest, blank where it says nothing; of several the first counts."""
    if context.nests is None or column not in context.nests.columns:
        return pd.Series("", index=table.index, dtype=object)
    known = context.nests.dropna(subset=["nest_id"]).drop_duplicates("nest_id").set_index("nest_id")[column]
    found = text_of(table, "nest_id").map(known.astype(object))
    return found.where(found.notna(), "").astype(object)
