"""How often each taxon shows each state, as shares that add to 1 over a character's states."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.identify.table_files import Row, number_in
from roadwatch.identify.tree import OTHER, Tree

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from roadwatch.identify.characters import Character

CLASS_WEIGHTS = {"always": 0.97, "usually": 0.85, "sometimes": 0.40, "rarely": 0.10, "never": 0.02}
"""What the words of ``frequency_class`` weigh: a reading of words such as 'usually', no measured frequency."""


@dataclass(frozen=True)
class Matrix:
    """
    Characters by taxa. A taxon may have several forms, such as blackened old males, that change marks together.

    Parameters
    ----------
    characters
        By key.
    taxa
        Taxa that characters tell apart, ``other turtle`` last where there is one.
    form_taxon
        (forms,) position of each form's taxon, ascending.
    form_share
        (forms,) share of the taxon that has the form; adds to 1 within a taxon.
    frequencies
        Character key to (forms, states) shares.
    """

    characters: Mapping[str, Character]
    taxa: tuple[str, ...]
    form_taxon: NDArray[np.intp]
    form_share: NDArray[np.float64]
    frequencies: Mapping[str, NDArray[np.float64]]

    @property
    def form_start(self) -> NDArray[np.intp]:
        """(taxa,) position of the first form of each taxon."""
        return np.searchsorted(self.form_taxon, np.arange(len(self.taxa)))

    def by_taxon(self, character: str) -> NDArray[np.float64]:
        """(taxa, states) shares of a character over all forms of a taxon."""
        weighted = self.frequencies[character] * self.form_share[:, None]
        return np.asarray(np.add.reduceat(weighted, self.form_start, axis=0))


def build_matrix(
    rows: list[Row],
    form_rows: list[Row],
    characters: dict[str, Character],
    *,
    tree: Tree,
    faults: list[str],
) -> Matrix:
    """
    Make the matrix from its tables; a taxon or character without rows says nothing, an unlisted state is 'never'.

    Parameters
    ----------
    rows, form_rows
        Rows of ``frequencies.csv`` and ``forms.csv``.
    characters
        By key.
    tree
        To which every taxon must belong.
    faults
        What is wrong is added here, one line a fault.
    """
    cells: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        taxon = tree.find(row["taxon"])
        if taxon is None:
            faults.append(row.fault("taxon", expected="not in taxa.csv"))
        elif _state_fits(row, characters, faults) and row["source"]:
            cells.setdefault((taxon, row["character"]), []).append(row)
        elif not row["source"]:
            faults.append(row.fault("source", expected="blank; every frequency names its source"))
    taxa = tuple(dict.fromkeys(taxon for taxon, _ in cells))
    normal = {
        key: np.array([_shares(cells.get((taxon, key), []), character, faults) for taxon in taxa])
        for key, character in characters.items()
    }
    forms = _forms(form_rows, taxa, characters, tree=tree, faults=faults)
    return _with_forms(taxa, characters, normal, forms)


def _state_fits(row: Row, characters: dict[str, Character], faults: list[str]) -> bool:
    character = characters.get(row["character"])
    if character is None:
        faults.append(row.fault("character", expected="not in characters.csv"))
        return False
    keys = [state.key for state in character.states]
    if row["state"] not in keys:
        faults.append(row.fault("state", expected=f"no state of {character.key}, which has {', '.join(keys)}"))
        return False
    return True


def _shares(rows: list[Row], character: Character, faults: list[str]) -> NDArray[np.float64]:
    """(states,) shares of one taxon: measured ones where given, else weights of the classes."""
    if not rows:
        return np.full(len(character.states), 1 / len(character.states))
    measured = any(row["share"] for row in rows)
    position = {state.key: k for k, state in enumerate(character.states)}
    weight = np.full(len(character.states), 0.0 if measured else CLASS_WEIGHTS["never"])
    for row in rows:
        if measured:
            weight[position[row["state"]]] = number_in(row, "share", low=0, high=1, faults=faults)
        elif row["frequency_class"] in CLASS_WEIGHTS:
            weight[position[row["state"]]] = CLASS_WEIGHTS[row["frequency_class"]]
        else:
            faults.append(row.fault("frequency_class", expected=f"not one of {', '.join(CLASS_WEIGHTS)}"))
    if measured and abs(weight.sum() - 1) > 0.02:
        faults.append(rows[0].fault("share", expected=f"one of shares that add to {weight.sum():.3g}, not to 1"))
    return np.asarray(weight / weight.sum())


@dataclass(frozen=True)
class _Form:
    share: float
    changes: dict[str, tuple[int, float]]


def _forms(
    rows: list[Row], taxa: tuple[str, ...], characters: dict[str, Character], *, tree: Tree, faults: list[str]
) -> dict[str, dict[str, _Form]]:
    forms: dict[str, dict[str, _Form]] = {}
    for row in rows:
        taxon = tree.find(row["taxon"]) or ""
        if taxon not in taxa:
            faults.append(row.fault("taxon", expected="not a taxon of frequencies.csv"))
        elif _state_fits(row, characters, faults):
            share = number_in(row, "share", low=0, high=0.9, faults=faults)
            frequency = number_in(row, "frequency", low=0, high=1, faults=faults)
            form = forms.setdefault(taxon, {}).setdefault(row["form"], _Form(share, {}))
            state = [state.key for state in characters[row["character"]].states].index(row["state"])
            form.changes[row["character"]] = (state, frequency)
    return forms


def _with_forms(
    taxa: tuple[str, ...],
    characters: dict[str, Character],
    normal: dict[str, NDArray[np.float64]],
    forms: dict[str, dict[str, _Form]],
) -> Matrix:
    """Put each taxon's forms after its normal form, and 'other turtle' with equal shares at the end."""
    form_taxon: list[int] = []
    form_share: list[float] = []
    shares: dict[str, list[NDArray[np.float64]]] = {key: [] for key in characters}
    for position, taxon in enumerate(taxa):
        own = list(forms.get(taxon, {}).values())
        for form in [_Form(1 - sum(form.share for form in own), {}), *own]:
            form_taxon.append(position)
            form_share.append(form.share)
            for key in characters:
                shares[key].append(_changed(normal[key][position], form.changes.get(key)))
    for key, character in characters.items():
        shares[key].append(np.full(len(character.states), 1 / len(character.states)))
    return Matrix(
        characters=characters,
        taxa=(*taxa, OTHER),
        form_taxon=np.array([*form_taxon, len(taxa)], dtype=np.intp),
        form_share=np.array([*form_share, 1.0]),
        frequencies={key: np.array(rows) for key, rows in shares.items()},
    )


def _changed(shares: NDArray[np.float64], change: tuple[int, float] | None) -> NDArray[np.float64]:
    """Give one state its frequency and leave the rest to the others as they were."""
    if change is None:
        return shares
    state, frequency = change
    others = np.delete(shares, state).sum()
    changed = shares * (1 - frequency) / others
    changed[state] = frequency
    return np.asarray(changed)
