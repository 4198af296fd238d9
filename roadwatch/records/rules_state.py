"""Rules on the animal's state: what cannot be true of one animal at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.rules import CheckContext, Faulty, number_of, rule, text_of

if TYPE_CHECKING:
    import pandas as pd


@rule(
    "only a dead animal has a carcass age",
    kinds=("crossings",),
    severity="ask",
    columns=("carcass_age", "condition"),
    fault="carcass_age {carcass_age} is given for an animal that was {condition}",
    cure="correct one of the two",
)
def is_living_carcass(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Alive or injured, and yet with a carcass age."""
    is_living = text_of(table, "condition").isin(["alive", "injured"])
    return (is_living & (text_of(table, "carcass_age") != "")).to_numpy(dtype=bool)


@rule(
    "a male carries no eggs",
    kinds=("crossings",),
    severity="ask",
    columns=("gravid", "sex"),
    fault="gravid is yes for a male",
    cure="correct one of the two",
)
def is_gravid_male(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Male and gravid."""
    is_gravid = text_of(table, "gravid").isin([True])
    return (is_gravid & (text_of(table, "sex") == "male")).to_numpy(dtype=bool)


@rule(
    "only an adult carries eggs",
    kinds=("crossings",),
    severity="ask",
    columns=("gravid", "life_stage"),
    fault="gravid is yes for a {life_stage}",
    cure="correct one of the two",
)
def is_gravid_child(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Hatchling or juvenile, and gravid."""
    is_gravid = text_of(table, "gravid").isin([True])
    return (is_gravid & text_of(table, "life_stage").isin(["hatchling", "juvenile"])).to_numpy(dtype=bool)


@rule(
    "a living animal is no carcass that is removed or marked",
    kinds=("crossings",),
    severity="ask",
    columns=("action", "condition"),
    fault="action {action} is given for an animal that was {condition}",
    cure="correct one of the two",
)
def is_living_removed(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Alive, and treated as a carcass."""
    is_alive = text_of(table, "condition") == "alive"
    return (is_alive & text_of(table, "action").isin(["carcass_removed", "carcass_marked"])).to_numpy(dtype=bool)


@rule(
    "a dead animal is not moved across",
    kinds=("crossings",),
    severity="ask",
    columns=("action", "condition"),
    fault="action moved_across is given for an animal that was dead",
    cure="write carcass_removed where the carcass was taken off the road, or correct condition",
)
def is_dead_moved(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Dead, and helped across."""
    is_dead = text_of(table, "condition") == "dead"
    return (is_dead & (text_of(table, "action") == "moved_across")).to_numpy(dtype=bool)


@rule(
    "a living animal is not seen as a carcass",
    kinds=("crossings",),
    severity="ask",
    columns=("view", "condition"),
    fault="view carcass is given for an animal that was alive",
    cure="correct one of the two",
)
def is_carcass_alive(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Alive, and seen as a carcass."""
    return ((text_of(table, "condition") == "alive") & (text_of(table, "view") == "carcass")).to_numpy(dtype=bool)


@rule(
    "a carcass has no heading",
    kinds=("crossings",),
    severity="note",
    columns=("heading_deg", "condition"),
    fault="heading_deg {heading_deg} is given for a dead animal",
    cure="a carcass tells no direction unless tracks do; say so in the notes",
)
def is_heading_of_carcass(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Dead, with a direction."""
    is_dead = (text_of(table, "condition") == "dead").to_numpy(dtype=bool)
    return is_dead & ~np.isnan(number_of(table, "heading_deg"))
