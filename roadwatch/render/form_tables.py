"""The tables of identification as data that the field form's own code reads, number for number."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.identify.cautions import BITES_FROM, BITING_FAMILIES
from roadwatch.identify.characters import SIZE, VIEWS
from roadwatch.identify.evidence import YOUNG_SLIP, evidence_of
from roadwatch.identify.naming import ASK_FROM, CF_FROM, DEFAULT_THRESHOLD
from roadwatch.identify.posterior import DEFAULT_RHO, LEAST_LIKELIHOOD
from roadwatch.identify.questions import LEAST_BITS, LEAST_CHANGE, MOST_QUESTIONS
from roadwatch.identify.tree import OTHER, RANKS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from roadwatch.identify.characters import Character
    from roadwatch.identify.tables import Tables

LONGEST_MM = 760
"""Lengths up to here are tried to find where a size class begins; no turtle of the tables is longer."""


def identification_data(tables: Tables, *, region: str | None) -> dict[str, object]:
    """
    All that a page needs to identify an animal as the command line does.

    Parameters
    ----------
    tables
        The tables.
    region
        Key of the region, None for all taxa equally common.

    Returns
    -------
    Dictionary of plain lists, numbers and texts: characters with their states and (forms, states) shares, taxa with
    their forms and lineages, shares of commonness for each month, and the stated conventions.
    """
    matrix = tables.matrix
    return {
        "taxa": list(tables.taxa),
        "form_taxon": matrix.form_taxon.tolist(),
        "form_share": matrix.form_share.tolist(),
        "characters": [_character(character, matrix.frequencies[key]) for key, character in tables.characters.items()],
        "size": SIZE,
        "size_from_mm": _size_classes(tables),
        "views": list(VIEWS),
        "slips": tables.slips,
        "priors": {
            f"{month:02d}" if month else "": tables.prior(region, month=month or None).tolist() for month in range(13)
        },
        "flat_prior": tables.prior(None).tolist(),
        "tree": _tree(tables),
        "bites": [tables.tree.held_at(taxon, "family") in BITING_FAMILIES for taxon in tables.taxa],
        "ask_second": _second_person(tables, region),
        "names": _names(tables),
        "version": tables.version,
        "conventions": {
            "rho": DEFAULT_RHO,
            "young_slip": YOUNG_SLIP,
            "least_likelihood": LEAST_LIKELIHOOD,
            "threshold": DEFAULT_THRESHOLD,
            "cf_from": CF_FROM,
            "ask_from": ASK_FROM,
            "bites_from": BITES_FROM,
            "least_bits": LEAST_BITS,
            "least_change": LEAST_CHANGE,
            "most_questions": MOST_QUESTIONS,
        },
    }


def _character(character: Character, frequencies: NDArray[np.float64]) -> dict[str, object]:
    """A character; forms that show it alike share one row of frequencies, which keeps the page small."""
    rows, of_form = np.unique(frequencies, axis=0, return_inverse=True)
    return {
        "key": character.key,
        "group": character.group,
        "question": character.question,
        "certainty": dict(character.certainty),
        "needs_head": character.needs_head,
        "mistaken_for": character.mistaken_for,
        "safety": character.safety,
        "states": [
            {"key": state.key, "words": state.words, "absent": state.absent, "both_of": sorted(state.both_of)}
            for state in character.states
        ],
        "rows": rows.tolist(),
        "of_form": of_form.ravel().tolist(),
    }


def _size_classes(tables: Tables) -> list[int]:
    """(states,) the length in mm from which each state of the size holds, as a measured shell is read."""
    if SIZE not in tables.characters:
        return []
    lengths = np.arange(1, LONGEST_MM + 1)
    evidence = evidence_of(pd.DataFrame({"carapace_mm": lengths.astype(float)}), tables)
    state = np.array([answer.states[0] for answer in evidence.answers])[evidence.answer]
    first = {int(one): int(lengths[evidence.record][state == one].min()) for one in np.unique(state)}
    return [first.get(k, LONGEST_MM + 1) for k in range(len(tables.characters[SIZE].states))]


def _tree(tables: Tables) -> dict[str, object]:
    steps = dict.fromkeys(step for taxon in tables.taxa for step in tables.tree.lineages[taxon])
    return {
        "other": OTHER,
        "ranks": list(RANKS),
        "rank_of": {step: tables.tree.ranks[step] for step in steps},
        "english": {step: tables.tree.english[step] for step in steps},
        "lineages": {step: list(tables.tree.lineages[step]) for step in steps},
    }


def _second_person(tables: Tables, region: str | None) -> list[bool]:
    """(taxa,) which ask for a photograph and a second person: the listed ones and those outside their range."""
    classes = tables.weight_classes.get(region or "", {})
    outside = {taxon for taxon in tables.taxa if region and classes.get(taxon, "outside") == "outside"}
    return [taxon != OTHER and (taxon in tables.tree.sensitive or taxon in outside) for taxon in tables.taxa]


def _names(tables: Tables) -> list[dict[str, str]]:
    """Every name of the tree that can be written down, by its English name; crosses are left to the marks."""
    return [
        {"taxon": taxon, "english": tables.tree.english[taxon]}
        for taxon in sorted(tables.tree.english, key=lambda name: tables.tree.english[name].casefold())
        if taxon != OTHER and " x " not in taxon and tables.tree.ranks[taxon] != "order"
    ]
