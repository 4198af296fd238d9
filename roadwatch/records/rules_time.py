"""Rules on days and times: none in the future, none before its cause."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.rules import CheckContext, Faulty, Predicate, is_day_after, rule, text_of

if TYPE_CHECKING:
    from roadwatch.records.fields import Kind

FIRST_YEAR = "1950"
"""Records of crossings and nests before this year are taken for slips (a convention)."""

_MAIN_TIME: dict[Kind, str] = {
    "crossings": "observed_at",
    "nests": "found_at",
    "checks": "checked_at",
    "searches": "started_at",
}


def _enter_rules_of_main_time(kind: Kind, column: str) -> None:
    """The two rules that every kind has on its own time column."""

    @rule(
        f"{column} is not in the future",
        kinds=(kind,),
        severity="hold back",
        columns=(column,),
        fault=f"{column} {{{column}}} lies after today, {{today}}",
        cure="correct the date",
    )
    def _is_future(table: pd.DataFrame, context: CheckContext) -> Faulty:
        return _lies_after_today(table, column, context)

    @rule(
        f"{column} is not before {FIRST_YEAR}",
        kinds=(kind,),
        severity="hold back",
        columns=(column,),
        fault=f"{column} {{{column}}} lies before {FIRST_YEAR}",
        cure="correct the year",
    )
    def _is_ancient(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
        days = text_of(table, column)
        return ((days != "") & (days < FIRST_YEAR)).to_numpy(dtype=bool)


for _kind, _column in _MAIN_TIME.items():
    _enter_rules_of_main_time(_kind, _column)


def _lies_after_today(table: pd.DataFrame, column: str, context: CheckContext) -> Faulty:
    today = pd.Series(context.today.isoformat(), index=table.index, dtype=object)
    return is_day_after(text_of(table, column), today)


def _is_first_after(later: str, earlier: str) -> Predicate:
    """The predicate that one day lies after another."""

    def is_after(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
        return is_day_after(text_of(table, later), text_of(table, earlier))

    return is_after


rule(
    "the nest was found after it was laid",
    kinds=("nests",),
    severity="hold back",
    columns=("laid_on", "found_at"),
    fault="laid_on {laid_on} lies after the nest was found, {found_at}",
    cure="correct one of the two days",
)(_is_first_after("laid_on", "found_at"))

rule(
    "the first possible day of laying is not after the nest was found",
    kinds=("nests",),
    severity="hold back",
    columns=("laid_from", "found_at"),
    fault="laid_from {laid_from} lies after the nest was found, {found_at}",
    cure="correct one of the two days",
)(_is_first_after("laid_from", "found_at"))

rule(
    "the first possible day of laying is not after the last",
    kinds=("nests",),
    severity="hold back",
    columns=("laid_from", "laid_to"),
    fault="laid_from {laid_from} lies after laid_to {laid_to}",
    cure="change the two days over, or correct one",
)(_is_first_after("laid_from", "laid_to"))

rule(
    "the last possible day of laying is not after the nest was found",
    kinds=("nests",),
    severity="ask",
    columns=("laid_to", "found_at"),
    fault="laid_to {laid_to} lies after the nest was found, {found_at}",
    cure="leave laid_to blank where the day found is the last possible day",
)(_is_first_after("laid_to", "found_at"))

rule(
    "a measure is taken away after it was built",
    kinds=("measures",),
    severity="hold back",
    columns=("removed_on", "built_on"),
    fault="removed_on {removed_on} lies before the measure was built, {built_on}",
    cure="change the two days over, or correct one",
)(_is_first_after("built_on", "removed_on"))

rule(
    "a name is verified after the animal was seen",
    kinds=("crossings",),
    severity="ask",
    columns=("observed_at", "verified_at"),
    fault="observed_at {observed_at} lies after the name was verified, {verified_at}",
    cure="correct one of the two days",
)(_is_first_after("observed_at", "verified_at"))

rule(
    "a cage is taken off after it was put on",
    kinds=("nests",),
    severity="hold back",
    columns=("protected_on", "protected_off"),
    fault="protected_on {protected_on} lies after protected_off {protected_off}",
    cure="change the two days over, or correct one",
)(_is_first_after("protected_on", "protected_off"))


@rule(
    "the day of laying lies between its first and last possible day",
    kinds=("nests",),
    severity="ask",
    columns=("laid_on", "laid_from", "laid_to"),
    fault="laid_on {laid_on} does not lie between laid_from and laid_to",
    cure="where the laying was seen, leave laid_from and laid_to blank",
)
def is_laid_outside_its_span(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """The day of laying contradicts the span."""
    laid = text_of(table, "laid_on")
    return is_day_after(text_of(table, "laid_from"), laid) | is_day_after(laid, text_of(table, "laid_to"))


@rule(
    "a search ends after it started",
    kinds=("searches",),
    severity="hold back",
    columns=("ended_at", "started_at"),
    fault="ended_at {ended_at} lies before started_at {started_at}",
    cure="correct one of the two; a search that goes on past midnight needs the date of its end",
)
def is_ended_before_started(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """The end lies before the start, by the day where either has no time of day, else by the instant."""
    start, end = text_of(table, "started_at"), text_of(table, "ended_at")
    timed = ((start.str.len() > 10) & (end.str.len() > 10)).to_numpy(dtype=bool)
    instants = [pd.to_datetime(text.where(timed, None), utc=True, format="ISO8601") for text in (start, end)]
    by_instant = (instants[1] < instants[0]).to_numpy(dtype=bool)
    return np.where(timed, by_instant, is_day_after(start, end))


@rule(
    "a search lasts no longer than a day",
    kinds=("searches",),
    severity="ask",
    columns=("ended_at", "started_at"),
    fault="the search from {started_at} to {ended_at} lasts longer than a day",
    cure="write one search for each outing",
)
def is_endless(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """More than a day between the two local days."""
    start, end = (pd.to_datetime(text_of(table, name).str[:10], errors="coerce") for name in ("started_at", "ended_at"))
    return ((end - start) > pd.Timedelta(days=1)).to_numpy(dtype=bool)


@rule(
    "a reading is not in the future, unless it is a forecast",
    kinds=("temperatures",),
    severity="hold back",
    columns=("date", "at"),
    fault="the reading lies after today, {today}",
    cure="correct the date, or write kind forecast",
)
def is_reading_from_the_future(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """A measured temperature of a day to come."""
    is_late = _lies_after_today(table, "date", context) | _lies_after_today(table, "at", context)
    return is_late & (text_of(table, "kind") != "forecast").to_numpy(dtype=bool)


@rule(
    "a measure has been built by today",
    kinds=("measures",),
    severity="ask",
    columns=("built_on",),
    fault="built_on {built_on} lies after today, {today}: nothing can be said of its effect yet",
    cure="correct the day, or send the measure again when it is built",
)
def is_planned_measure(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """Built on a day to come."""
    return _lies_after_today(table, "built_on", context)
