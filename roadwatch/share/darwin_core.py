"""Records in the terms of Darwin Core: occurrences, what was measured of them, and the searches that found them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.records.fields import DEFAULT_POSITION_ERROR_M, fields_of
from roadwatch.share.archives import ArchiveTable

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from roadwatch.records.fields import Kind
    from roadwatch.records.taxonomy import Taxonomy

TEAM_RIGHTS = "team only"
OPEN_RIGHTS = "open to everybody"
ORDER = "Testudines"

# fmt: off
OCCURRENCE_TERMS = [
    "occurrenceID", "basisOfRecord", "occurrenceStatus", "eventID", "organismID", "eventDate", "scientificName",
    "taxonRank", "identificationQualifier", "verbatimIdentification", "individualCount", "organismQuantity",
    "organismQuantityType", "sex", "lifeStage", "reproductiveCondition", "vitality", "decimalLatitude",
    "decimalLongitude", "geodeticDatum", "coordinateUncertaintyInMeters", "recordedBy", "identifiedBy",
    "dateIdentified", "associatedMedia", "occurrenceRemarks", "dynamicProperties", "accessRights",
    "dataGeneralizations", "informationWithheld",
]
EVENT_TERMS = [
    "eventID", "eventType", "eventDate", "samplingProtocol", "sampleSizeValue", "sampleSizeUnit", "samplingEffort",
    "recordedBy", "locality", "footprintWKT", "footprintSRS", "eventRemarks", "accessRights",
]
FACT_TERMS = ["occurrenceID", "measurementType", "measurementValue", "measurementUnit", "measurementMethod"]
# fmt: on

AS_WRITTEN_FACT = "probability that the taxon as written is right"
TAXON_FACT = "probability that the animal is of taxon {}"
SMALLEST_P = 0.005
"""Smaller probabilities of a taxon are not listed; they round to 0.00."""

_DWC = {
    "record_id": "occurrenceID", "search_id": "eventID", "observed_at": "eventDate", "found_at": "eventDate",
    "longitude": "decimalLongitude", "latitude": "decimalLatitude", "count": "individualCount", "sex": "sex",
    "life_stage": "lifeStage", "observer": "recordedBy",
    "verified_by": "identifiedBy", "verified_at": "dateIdentified", "photo": "associatedMedia",
    "notes": "occurrenceRemarks", "identification_qualifier": "identificationQualifier",
}  # fmt: skip
_VITALITY = {"alive": "alive", "injured": "alive", "dead": "dead"}


def team_occurrences(crossings: pd.DataFrame, nests: pd.DataFrame, *, taxonomy: Taxonomy) -> ArchiveTable:
    """
    Lay out crossings and nests as occurrences, exactly where they are.

    Parameters
    ----------
    crossings, nests
        Rows as the season holds them. What has no term of its own stands in ``dynamicProperties`` by its own name.
    taxonomy
        The season's taxa, which give the rank; a group without a scientific name is written as its genus.

    Source
    ------
    darwincore
    """
    animals = _occurrences(crossings, "crossings", taxonomy=taxonomy).assign(
        vitality=_column(crossings, "condition").map(_VITALITY),
        reproductiveCondition=_column(crossings, "gravid").map({True: "gravid", False: "not gravid"}),
    )
    clutches = _occurrences(nests, "nests", taxonomy=taxonomy).assign(
        occurrenceID="nest:" + nests["nest_id"].astype(str), organismID=nests["nest_id"], lifeStage="egg"
    )
    rows = pd.concat([animals, clutches], ignore_index=True).assign(accessRights=TEAM_RIGHTS)
    return ArchiveTable("Occurrence", rows.reindex(columns=OCCURRENCE_TERMS))


def public_occurrences(rows: pd.DataFrame, *, taxonomy: Taxonomy) -> ArchiveTable:
    """
    Lay out public rows as occurrences: a square is one row of the order of turtles with a number of records.

    Parameters
    ----------
    rows
        By :func:`roadwatch.share.public_rows.public_rows`.
    taxonomy
        The season's taxa.

    Source
    ------
    darwincore
    """
    is_square = rows["what"] == "square"
    told = _names(rows["taxon"].where(~is_square, ORDER), taxonomy=taxonomy).assign(
        occurrenceID=rows["public_id"],
        eventDate=rows["day"],
        individualCount=rows["count"].where(~is_square),
        organismQuantity=rows["records"].where(is_square),
        organismQuantityType=("records of " + rows["counted"]).where(is_square),
        vitality=rows["condition"].map(_VITALITY),
        decimalLatitude=rows["latitude"],
        decimalLongitude=rows["longitude"],
        coordinateUncertaintyInMeters=_error_m(rows),
        accessRights=OPEN_RIGHTS,
        dataGeneralizations=rows["dataGeneralizations"],
        informationWithheld=rows["informationWithheld"],
    )
    return ArchiveTable("Occurrence", _with_constants(told).reindex(columns=OCCURRENCE_TERMS))


def confidence_facts(ids: pd.Series, confidence: pd.Series) -> pd.DataFrame:
    """How sure observers were of the name they wrote, one fact a record that says so."""
    told = pd.DataFrame({"occurrenceID": ids, "measurementValue": pd.to_numeric(confidence)}).dropna()
    told = told.assign(measurementType=AS_WRITTEN_FACT, measurementMethod="stated by the observer")
    return told.reindex(columns=FACT_TERMS)


def taxon_facts(
    ids: pd.Series, p: NDArray[np.float64], taxa: tuple[str, ...], *, basis: NDArray[np.object_]
) -> pd.DataFrame:
    """
    The probability of each taxon for each record, as facts.

    Parameters
    ----------
    ids
        (n,) Ids of the occurrences.
    p
        (n, taxa) probabilities.
    taxa
        Names of the taxa.
    basis
        (n,) what they rest on, such as ``characters`` or ``name``.
    """
    row, column = (p >= SMALLEST_P).nonzero()
    facts = {
        "occurrenceID": ids.to_numpy()[row],
        "measurementType": [TAXON_FACT.format(taxa[k]) for k in column],
        "measurementValue": p[row, column].round(3),
        "measurementMethod": [f"posterior from {basis[k]}" for k in row],
    }
    return pd.DataFrame(facts).reindex(columns=FACT_TERMS)


def search_events(searches: pd.DataFrame) -> ArchiveTable:
    """
    Lay out searches as events, with what was searched and for how long.

    Source
    ------
    darwincore
    """
    begun, ended = _column(searches, "started_at"), _column(searches, "ended_at")
    spans = [f"{a}/{b}" if isinstance(b, str) and b else a for a, b in zip(begun, ended, strict=True)]
    km = pd.to_numeric(_column(searches, "distance_km"))
    sides = pd.to_numeric(_column(searches, "sides"))
    rows = pd.DataFrame(
        {
            "eventID": searches["search_id"],
            "eventType": "Survey",
            "eventDate": spans,
            "samplingProtocol": _column(searches, "method"),
            "sampleSizeValue": km,
            "sampleSizeUnit": pd.Series("kilometre", index=searches.index).where(km.notna()),
            "samplingEffort": (sides.map(lambda n: f"{n:g} side(s) of the road")).where(sides.notna()),
            "recordedBy": _column(searches, "observer"),
            "locality": _column(searches, "roads"),
            "footprintWKT": _column(searches, "track"),
            "footprintSRS": pd.Series("EPSG:4326", index=searches.index).where(_column(searches, "track").notna()),
            "eventRemarks": _column(searches, "notes"),
            "accessRights": TEAM_RIGHTS,
        }
    )
    return ArchiveTable("Event", rows.reindex(columns=EVENT_TERMS))


def found_in_searches(occurrences: ArchiveTable, events: ArchiveTable) -> ArchiveTable:
    """The occurrences of searches, as an extension of the events; chance finds belong to no event."""
    rows = occurrences.rows[occurrences.rows["eventID"].isin(events.rows["eventID"])]
    return ArchiveTable("Occurrence", rows[["eventID", *(name for name in rows if name != "eventID")]])


def _occurrences(records: pd.DataFrame, kind: Kind, *, taxonomy: Taxonomy) -> pd.DataFrame:
    known = {name: term for name, term in _DWC.items() if name in fields_of(kind)}
    written = _column(records, "taxon_as_written")
    told = _names(_column(records, "taxon"), taxonomy=taxonomy).assign(
        **{term: _column(records, name) for name, term in known.items()},
        coordinateUncertaintyInMeters=_error_m(records),
        verbatimIdentification=written,
        dynamicProperties=_rest(
            records, {*known, "position_error_m", "taxon", "geometry", "record_key", "batch", "taxon_as_written"}
        ),
    )
    return _with_constants(told)


def _with_constants(rows: pd.DataFrame) -> pd.DataFrame:
    return rows.assign(basisOfRecord="HumanObservation", occurrenceStatus="present", geodeticDatum="EPSG:4326")


def _names(taxa: pd.Series, *, taxonomy: Taxonomy) -> pd.DataFrame:
    """A scientific name and its rank; a group of our own is written as what holds it."""
    found: dict[str, tuple[str, str]] = {}
    for name in taxa.dropna().unique():
        steps = [step for step in taxonomy.lineage(str(name)) if taxonomy.taxa[step].rank != "group"]
        found[name] = (steps[0], taxonomy.taxa[steps[0]].rank) if steps else (str(name), "")
    names = taxa.map(lambda name: found.get(name, (ORDER, "order")))
    return pd.DataFrame({"scientificName": names.str[0], "taxonRank": names.str[1]}, index=taxa.index)


def _error_m(records: pd.DataFrame) -> pd.Series:
    return pd.to_numeric(_column(records, "position_error_m")).fillna(DEFAULT_POSITION_ERROR_M)


def _rest(records: pd.DataFrame, used: set[str]) -> list[str]:
    names = [name for name in records.columns if name not in used]
    rows = records[names].astype(object).where(records[names].notna(), None).to_dict("records")
    return [
        json.dumps({k: v for k, v in row.items() if v is not None}, ensure_ascii=False, sort_keys=True) for row in rows
    ]


def _column(table: pd.DataFrame, name: str) -> pd.Series:
    if name in table.columns:
        return table[name]
    return pd.Series(None, index=table.index, dtype=object)
