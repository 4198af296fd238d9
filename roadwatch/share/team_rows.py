"""The rows of a file for the team: every column as it stands, named so that they can be read in again."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.records.fields import ID_FIELD, Kind, fields_of
from roadwatch.records.readers.apostrophes import MARK
from roadwatch.records.store_columns import AS_WRITTEN

if TYPE_CHECKING:
    from roadwatch.records.taxonomy import Taxonomy

TEAM_KINDS: tuple[Kind, ...] = ("crossings", "nests", "checks", "searches", "measures", "temperatures")
"""What a team shares. People's starting points are their homes and stay in the season."""


def team_rows(records: pd.DataFrame, kind: Kind, *, taxonomy: Taxonomy) -> pd.DataFrame:
    """
    Lay out one kind of record as it can be read in again.

    Parameters
    ----------
    records
        (n,) rows as the season holds them.
    kind
        Which kind they are.
    taxonomy
        The season's taxa: a name stands in the observer's words where these still give the taxon kept.

    Returns
    -------
    (n,) rows without geometry: the record's name first, the canonical columns, ``seen_*``, and a column for each
    entry of ``other``. A column in which nothing stands is left out unless the kind needs it.
    """
    told = {name: records[name] for name in fields_of(kind) if name in records.columns}
    if kind in ID_FIELD:
        told[ID_FIELD[kind]] = records["record_key"]
    for name in [name for name in told if f"{name}{AS_WRITTEN}" in records.columns]:
        told[name] = _names(told[name], records[f"{name}{AS_WRITTEN}"], taxonomy=taxonomy)
    told |= {name: records[name] for name in records.columns if name.startswith("seen_")}
    told |= {name: cells for name, cells in _others(records).items() if name not in {*told, MARK}}
    needed = {name for name, field in fields_of(kind).items() if field.required} | set(told) & {ID_FIELD.get(kind, "")}
    kept = {name: _plain(cells) for name, cells in told.items() if name in needed or cells.notna().any()}
    return pd.DataFrame(kept, index=records.index).reset_index(drop=True)


def _names(taxa: pd.Series, written: pd.Series, *, taxonomy: Taxonomy) -> pd.Series:
    read = {text: taxonomy.read_name(str(text)).taxon for text in written.dropna().unique()}
    still = [pd.notna(text) and read[text] == taxon for text, taxon in zip(written, taxa, strict=True)]
    return written.where(pd.Series(still, index=taxa.index, dtype=bool), taxa)


def _others(records: pd.DataFrame) -> dict[str, pd.Series]:
    if "other" not in records.columns or records["other"].isna().all():
        return {}
    entries = [json.loads(text) if isinstance(text, str) else {} for text in records["other"]]
    names = dict.fromkeys(name for entry in entries for name in entry)
    return {
        str(name): pd.Series([entry.get(name) for entry in entries], index=records.index, dtype=object)
        for name in names
    }


def _plain(cells: pd.Series) -> pd.Series:
    """Booleans as words, which every format and reader has."""
    if cells.dtype == object and cells.isin([True, False]).any() and not cells.map(lambda c: isinstance(c, str)).any():
        return cells.map({True: "true", False: "false"}).astype(object)
    return cells
