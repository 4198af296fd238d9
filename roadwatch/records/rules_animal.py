"""Rules on the animal: its size, its state, and what its kind can be."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.fields import CONFIDENCE_WORDS
from roadwatch.records.rules import CheckContext, Faulty, number_of, rule, text_of

if TYPE_CHECKING:
    import pandas as pd

SHORTEST_SHELL_MM, LONGEST_SHELL_MM = 20.0, 760.0
"""No turtle of the region is shorter or longer (a convention; the longest read is 736 mm, Apalone ferox)."""

BEYOND_RECORD = 1.1
"""A shell this many times the greatest length of its taxon is asked about (a convention)."""

LONGEST_MALE_MAP_TURTLE_MM = 160.0
"""A longer male map turtle is asked about (a convention)."""

LONGEST_MUD_TURTLE_MM = 140.0
"""A longer mud turtle is asked about (a convention)."""

LONGEST_HATCHLING_MM, SHORTEST_ADULT_MM = 80.0, 50.0
"""Asked about beyond these (a convention; the smallest adult read of is a musk turtle of 51 mm)."""

MANY_ANIMALS = 20
"""From so many animals in one record on it is asked about (a convention)."""


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
    known = {name: context.taxonomy.greatest_length_mm(name) for name in taxa.unique()}
    longest_mm = taxa.map(known).to_numpy(dtype=np.float64)
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
def is_huge_male_map_turtle(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """A male of the genus Graptemys beyond what males reach."""
    is_male = (text_of(table, "sex") == "male").to_numpy(dtype=bool)
    is_map_turtle = context.taxonomy.within(text_of(table, "taxon"), asked="Graptemys")
    return np.logical_and(is_male & is_map_turtle, number_of(table, "carapace_mm") > LONGEST_MALE_MAP_TURTLE_MM)


@rule(
    "a mud turtle is not longer than 140 mm",
    kinds=("crossings",),
    severity="ask",
    columns=("carapace_mm", "taxon"),
    fault="carapace_mm {carapace_mm} is long for a mud turtle",
    cure="look at the name first, then at the unit",
)
def is_huge_mud_turtle(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """A mud turtle beyond what its genus reaches; what is beyond the record of its species is told by that rule."""
    is_mud_turtle = context.taxonomy.within(text_of(table, "taxon"), asked="Kinosternon")
    is_long = number_of(table, "carapace_mm") > LONGEST_MUD_TURTLE_MM
    return is_mud_turtle & is_long & ~is_beyond_record(table, context) & ~is_impossible_length(table, context)


@rule(
    "a hatchling is not longer than 80 mm",
    kinds=("crossings",),
    severity="ask",
    columns=("carapace_mm", "life_stage"),
    fault="carapace_mm {carapace_mm} is long for a hatchling",
    cure="correct life_stage or the length",
)
def is_huge_hatchling(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """A hatchling of a size that takes more than a year of growth."""
    is_hatchling = (text_of(table, "life_stage") == "hatchling").to_numpy(dtype=bool)
    is_long = number_of(table, "carapace_mm") > LONGEST_HATCHLING_MM
    return is_hatchling & is_long & ~is_impossible_length(table, context)


@rule(
    "an adult is at least 50 mm long",
    kinds=("crossings",),
    severity="ask",
    columns=("carapace_mm", "life_stage"),
    fault="carapace_mm {carapace_mm} is short for an adult",
    cure="correct life_stage or the length; inches or centimetres are the usual slip",
)
def is_tiny_adult(table: pd.DataFrame, context: CheckContext) -> Faulty:
    """An adult shorter than the smallest adult of the region, a musk turtle of 51 mm."""
    is_adult = (text_of(table, "life_stage") == "adult").to_numpy(dtype=bool)
    is_short = number_of(table, "carapace_mm") < SHORTEST_ADULT_MM
    return is_adult & is_short & ~is_impossible_length(table, context)


@rule(
    "fewer than 20 animals stand in one record",
    kinds=("crossings",),
    severity="ask",
    columns=("count",),
    fault="count {count} is much for one record",
    cure="write one record for each place; a number of the house or the road is the usual slip",
)
def is_crowd(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Many animals at once."""
    is_many: Faulty = number_of(table, "count") >= MANY_ANIMALS
    return is_many


@rule(
    "a name that is certain carries no mark of doubt",
    kinds=("crossings", "nests"),
    severity="ask",
    columns=("id_confidence", "identification_qualifier", "taxon"),
    fault="id_confidence is {id_confidence}, but the name is written with '{identification_qualifier}'",
    cure="write likely or unsure, or the name without the mark",
)
def is_certain_doubt(table: pd.DataFrame, context: CheckContext) -> Faulty:  # noqa: ARG001
    """Certain by its number, doubtful by its mark; 'sp.' says that no species is named, not that the genus is."""
    marks = text_of(table, "identification_qualifier")
    is_doubtful = marks.str.contains(r"\?|\b(?:cf|aff|prob|poss|maybe|perhaps|likely)", case=False, regex=True)
    return is_doubtful.to_numpy(dtype=bool) & (number_of(table, "id_confidence") >= CONFIDENCE_WORDS["certain"])
