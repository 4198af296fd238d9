"""Fixtures of this room: tiny invented tables for examples by hand, and the shipped tables."""

from types import SimpleNamespace

import numpy as np
import pytest

from roadwatch.identify.characters import Character, State
from roadwatch.identify.evidence import Answer, Evidence
from roadwatch.identify.frequencies import Matrix
from roadwatch.identify.posterior import posterior
from roadwatch.identify.tables import identify_tables

ALL_VIEWS = {"in_hand": 1.0, "from_above": 1.0, "from_car": 1.0, "carcass": 1.0}


def tiny_character(key, group, n_states):
    states = tuple(State(f"s{k}", f"state {k}", absent=k == n_states - 1, both_of=frozenset()) for k in range(n_states))
    return Character(
        key, group, f"What of {key}?", ALL_VIEWS, needs_head=False, mistaken_for="", safety="", states=states
    )


@pytest.fixture
def tiny():
    """
    Tables of a few invented taxa: give each character's (taxa, states) shares; groups default to one a character.

    ``tiny(shares).posterior({"a": 0}, prior=[...])`` answers state 0 of character a.
    """

    def make(shares, *, groups=None, form_taxon=None, form_share=None):
        shares = {key: np.array(rows, dtype=float) for key, rows in shares.items()}
        n_forms = len(next(iter(shares.values())))
        form_taxon = np.arange(n_forms) if form_taxon is None else np.array(form_taxon)
        form_share = np.ones(n_forms) if form_share is None else np.array(form_share)
        characters = {k: tiny_character(k, (groups or {}).get(k, k), rows.shape[1]) for k, rows in shares.items()}
        taxa = tuple(f"T{k}" for k in range(int(form_taxon.max()) + 1))
        matrix = Matrix(characters, taxa, form_taxon, form_share, shares)

        def of(answers, *, prior, rho=0.0, slip=0.0):
            states = [(key, (s,) if isinstance(s, int) else tuple(s)) for key, s in answers.items()]
            distinct = tuple(Answer(key, state, slip) for key, state in states)
            evidence = Evidence(1, np.zeros(len(distinct), dtype=int), np.arange(len(distinct)), distinct)
            return posterior(evidence, matrix, prior=np.array(prior, dtype=float), rho=rho)[0]

        return SimpleNamespace(matrix=matrix, posterior=of)

    return make


@pytest.fixture(scope="session")
def tables():
    """The shipped tables."""
    return identify_tables()


@pytest.fixture
def chances(tables):
    """A vector of probabilities over the shipped taxa from code or name to share; what is left goes to the last."""

    def make(**by_code):
        p = np.zeros(len(tables.taxa))
        for name, share in by_code.items():
            p[tables.taxa.index(tables.tree.find(name.replace("_", " ")))] = share
        p[-1] += max(0.0, 1 - p.sum())
        return p

    return make
