"""Rules on the animal: its size, its state, and what its kind can be."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.rules import CheckContext, Faulty, number_of, rule, text_of
from roadwatch.records.taxa import greatest_length_mm, within

if TYPE_CHECKING:
    import pandas as pd

SHORTEST_SHELL_MM, LONGEST_SHELL_MM = 20.0, 760.0
"""No turtle of the region is shorter or longer (a convention; the longest read is 736 mm, Apalone ferox)."""

BEYOND_RECORD = 1.1
"""A shell this many times the greatest length of its taxon is asked about (a convention)."""

LONGEST_MALE_MAP_TURTLE_MM = 160.0
"""A longer male map turtle is asked about (a convention)."""


@rule(
    "the shell is between 20 and 760 mm long",
    kinds=("crossings",),
    severity="hold back",
    columns=("carapace_mm",),
    fault="carapace_mm {carapace_mm} is not a length a turtle of the region can have",
    cure="write the straight shell length in millimetres, or leave it blank",
)
def is_impossible_length(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Shorter than a hatchling or longer than the largest softshell."""
    length_mm = number_of(table, "carapace_mm")
    return np.logical_or(length_mm < SHORTEST_SHELL_MM, length_mm > LONGEST_SHELL_MM)


@rule(
    "the shell is not much longer than the longest known of its taxon",
    kinds=("crossings",),
    severity="ask",
    columns=("carapace_mm", "taxon"),
    fault="carapace_mm {carapace_mm} is more than 1.1 times the greatest length read for {taxon}",
    cure="look at the name first, then at the unit: the length may be right and the name wrong",
)
def is_beyond_record(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """Longer than the record allows; lengths that are impossible for every taxon are told by their own rule."""
    taxa = text_of(table, "taxon")
    longest_mm = taxa.map({name: greatest_length_mm(name) for name in taxa.unique()}).to_numpy(dtype=np.float64)
    is_long = number_of(table, "carapace_mm") > BEYOND_RECORD * longest_mm
    return np.logical_and(is_long, ~is_impossible_length(table, context))


@rule(
    "a male map turtle is not longer than 160 mm",
    kinds=("crossings",),
    severity="ask",
    columns=("carapace_mm", "taxon", "sex"),
    fault="carapace_mm {carapace_mm} is long for a male map turtle",
    cure="look at the sex and at the name again",
)
def is_huge_male_map_turtle(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """A male of the genus Graptemys beyond what males reach."""
    is_male = (text_of(table, "sex") == "male").to_numpy(dtype=bool)
    is_map_turtle = within(text_of(table, "taxon"), asked="Graptemys")
    return np.logical_and(is_male & is_map_turtle, number_of(table, "carapace_mm") > LONGEST_MALE_MAP_TURTLE_MM)


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
