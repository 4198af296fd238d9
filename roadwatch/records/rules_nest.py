"""Rules on nests and their checks: each check has its nest, and no more hatchlings than eggs."""

from __future__ import annotations

import numpy as np
import pandas as pd

from roadwatch.records.rules import CheckContext, Faulty, is_day_after, number_of, rule, text_of
from roadwatch.records.taxa import within

_WINTER = ("11", "12", "01", "02")


@rule(
    "sliders and cooters do not nest from November to February",
    kinds=("nests",),
    severity="ask",
    columns=("found_at", "taxon"),
    fault="a nest of {taxon} found on {found_at} is out of its season",
    cure="say in the notes whether it was new; a nest laid in another season has its laid_from and laid_to",
)
def is_winter_nest(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """A nest of Trachemys or Pseudemys in the cold months, by the day of laying where it is known."""
    laid = text_of(table, "laid_on").where(text_of(table, "laid_on") != "", text_of(table, "laid_from"))
    day = laid.where(laid != "", text_of(table, "found_at"))
    taxa = text_of(table, "taxon")
    is_warm_nester = within(taxa, asked="Trachemys") | within(taxa, asked="Pseudemys")
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


def _of_nest(table: pd.DataFrame, column: str, context: CheckContext) -> pd.Series:
    """What the list of nests says of each check's nest, blank where it says nothing; of several the first counts."""
    if context.nests is None or column not in context.nests.columns:
        return pd.Series("", index=table.index, dtype=object)
    known = context.nests.dropna(subset=["nest_id"]).drop_duplicates("nest_id").set_index("nest_id")[column]
    found = text_of(table, "nest_id").map(known.astype(object))
    return found.where(found.notna(), "").astype(object)
