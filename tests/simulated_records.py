"""Invented records drawn from the tables, with slips of one look, of a group of looks, or of a whole record."""

import numpy as np
import pandas as pd

SLIPS = ("character", "group", "record")


def relatives_of(tables):
    """For each taxon the other taxa of its family, or all others where it stands alone."""
    family = [tables.tree.held_at(taxon, "family") for taxon in tables.taxa]
    found = []
    for k, own in enumerate(family):
        others = [j for j, other in enumerate(family) if own and other == own and j != k]
        found.append(others or [j for j in range(len(family) - 1) if j != k])
    return found


def simulate(tables, *, region, n, slip, share_of_slips, share_seen, rng, view=None, skill="trained"):
    """Draw ``n`` animals and what is reported of them; returns the records and the position of each true taxon."""
    matrix = tables.matrix
    prior = tables.prior(region)
    truth = rng.choice(len(prior), size=n, p=prior)
    relatives = relatives_of(tables)
    wrong = lambda: np.array([rng.choice(relatives[taxon]) for taxon in truth])  # noqa: E731
    whole_record = np.where(rng.random(n) < share_of_slips, wrong(), truth)
    by_group = {}
    columns = {}
    for key, character in matrix.characters.items():
        if not character.can_show(view):
            continue
        if slip == "record":
            shown = whole_record
        elif slip == "group":
            if character.group not in by_group:
                by_group[character.group] = np.where(rng.random(n) < share_of_slips, wrong(), truth)
            shown = by_group[character.group]
        else:
            shown = np.where(rng.random(n) < share_of_slips, wrong(), truth)
        edges = np.cumsum(matrix.by_taxon(key), axis=1)[shown]
        state = (rng.random((n, 1)) >= edges[:, :-1]).sum(axis=1)
        keys = np.array([s.key for s in character.states], dtype=object)[state]
        columns[f"seen_{key}"] = np.where(rng.random(n) < share_seen, keys, None)
    return pd.DataFrame(columns).assign(observer_skill=skill, view=view), truth
