"""Darwin Core Archives as an independent reader sees them. All records are invented."""

import io
import re
import zipfile
from datetime import date, datetime
from pathlib import Path
from xml.etree import ElementTree as ET

import pandas as pd
import pytest
from dwca.read import DwCAReader

from roadwatch.records.taxa import taxonomy_of
from roadwatch.share.archives import DUBLIN_CORE, About, ArchiveTable, darwin_core_archive, term_uri
from roadwatch.share.darwin_core import (
    EVENT_TERMS,
    FACT_TERMS,
    OCCURRENCE_TERMS,
    confidence_facts,
    found_in_searches,
    public_occurrences,
    search_events,
    taxon_facts,
    team_occurrences,
)

ABOUT = About("Turtles of an invented county", "2025-07-01", ("One & only <paragraph>.",), "open to everybody")
DWC = "http://rs.tdwg.org/dwc/terms/"

# recommended words of the Darwin Core quick reference guide, from memory
VITALITY = {"alive", "dead", ""}
RANKS = {"order", "family", "genus", "species", "subspecies"}


@pytest.fixture
def archive(tmp_path):
    """Write an archive and open it with the independent reader."""

    def make(core, *extensions):
        path = tmp_path / "archive.zip"
        path.write_bytes(darwin_core_archive(core, extensions, about=ABOUT))
        return DwCAReader(path)

    return make


@pytest.fixture
def season(crossings, nests):
    """Five crossings and three nests with the columns that the season holds."""
    places = [(-82.30 + k / 100, 29.60) for k in range(5)]
    taxa = ["Trachemys scripta", "cooter group", "Testudines", "Terrapene carolina", "Trachemys scripta elegans"]
    animals = crossings(
        places,
        taxon=taxa,
        condition=["alive", "injured", "dead", None, "dead"],
        search_id=["S1", None, "S1", "S2", None],
        gravid=[True, False, None, None, None],
        sex=["female", None, None, "male", None],
        notes=["a\nb", 'said "hello", left', "=1+1", None, "ü"],
    )
    animals = animals.assign(record_key=animals["record_id"], position_error_m=[5.0, None, 12.5, 30.0, 8.0])
    clutches = nests(places[:3], id_confidence=0.9, position_error_m=4.0)
    return animals, clutches.assign(record_key=clutches["nest_id"])


def rows_of(reader):
    return [{uri.rsplit("/", 1)[1]: cell for uri, cell in row.data.items()} for row in reader]


def test_a_reader_finds_every_term_and_row(archive, season):
    with archive(team_occurrences(*season, taxonomy=taxonomy_of())) as reader:
        assert reader.descriptor.core.type == f"{DWC}Occurrence"
        assert reader.descriptor.core.terms == {term_uri(term) for term in OCCURRENCE_TERMS}
        rows = rows_of(reader)
    assert len(rows) == 5 + 3
    assert [row["occurrenceRemarks"] for row in rows[:3]] == ["a b", 'said "hello", left', "=1+1"]


@pytest.mark.parametrize("term", sorted({*OCCURRENCE_TERMS, *EVENT_TERMS, *FACT_TERMS} - DUBLIN_CORE))
def test_every_term_is_one_of_the_published_list(term):
    published = Path(__file__).parents[1] / "golden" / "darwin_core_terms.txt"
    assert term in published.read_text(encoding="utf-8").splitlines()


def test_values_hold_to_the_standard(archive, season):
    with archive(team_occurrences(*season, taxonomy=taxonomy_of())) as reader:
        rows = rows_of(reader)
    ids = [row["occurrenceID"] for row in rows]
    assert len(set(ids)) == len(ids)
    assert all(ids)
    for row in rows:
        assert -90 <= float(row["decimalLatitude"]) <= 90
        assert -180 <= float(row["decimalLongitude"]) <= 180
        assert row["geodeticDatum"] == "EPSG:4326"
        assert float(row["coordinateUncertaintyInMeters"]) > 0  # blank is 30 m, Chapman & Wieczorek 2020
        assert datetime.fromisoformat(row["eventDate"])
        assert row["basisOfRecord"] == "HumanObservation"
        assert row["occurrenceStatus"] == "present"
        assert row["vitality"] in VITALITY
        assert row["taxonRank"] in RANKS
    assert [row["vitality"] for row in rows[:5]] == ["alive", "alive", "dead", "", "dead"]
    assert [row["reproductiveCondition"] for row in rows[:3]] == ["gravid", "not gravid", ""]


def test_a_group_without_a_scientific_name_is_written_as_its_genus(archive, season):
    with archive(team_occurrences(*season, taxonomy=taxonomy_of())) as reader:
        names = [(row["scientificName"], row["taxonRank"]) for row in rows_of(reader)]
    assert names[:3] == [("Trachemys scripta", "species"), ("Pseudemys", "genus"), ("Testudines", "order")]


def test_facts_belong_to_rows_of_the_core(archive, season):
    core = team_occurrences(*season, taxonomy=taxonomy_of())
    facts = pd.concat(
        [
            confidence_facts(core.rows["occurrenceID"], pd.Series([0.8, None, 0.5, 0.95, 1.0, 0.9, 0.9, None])),
            taxon_facts(core.rows["occurrenceID"][:1], pd.DataFrame([[0.75, 0.25, 0.0]]).to_numpy(), ("A", "B", "C"),
                        basis=pd.Series(["name"]).to_numpy(dtype=object)),
        ]
    )  # fmt: skip
    with archive(core, ArchiveTable("MeasurementOrFact", facts)) as reader:
        (extension,) = reader.descriptor.extensions
        told = [
            (row.id, fact.data[f"{DWC}measurementType"], float(fact.data[f"{DWC}measurementValue"]))
            for row in reader
            for fact in row.extensions
        ]
    assert extension.type == f"{DWC}MeasurementOrFact"
    assert len(told) == 6 + 2
    assert ("R0", "probability that the animal is of taxon A", 0.75) in told
    assert all(0 <= value <= 1 for _, _, value in told)
    assert not any("taxon C" in name for _, name, _ in told)


def test_searches_are_events_and_hold_what_they_found(archive, season):
    searches = pd.DataFrame(
        {
            "search_id": ["S1", "S2", "S3"],
            "started_at": ["2025-05-12T07:00:00-04:00", "2025-05-13", "2025-05-14"],
            "ended_at": ["2025-05-12T08:00:00-04:00", None, None],
            "method": ["foot", "car", None],
            "sides": [2.0, None, 1.0],
            "distance_km": [3.0, 5.5, None],
            "roads": ["Invented Road", None, None],
            "observer": "A",
        }
    )
    events = search_events(searches)
    with archive(events, found_in_searches(team_occurrences(*season, taxonomy=taxonomy_of()), events)) as reader:
        assert reader.descriptor.core.type == f"{DWC}Event"
        rows = rows_of(reader)
        found = {row.id: len(row.extensions) for row in reader}
    assert found == {"S1": 2, "S2": 1, "S3": 0}  # a search that found nothing stays, and counts as much
    assert rows[0]["eventDate"] == "2025-05-12T07:00:00-04:00/2025-05-12T08:00:00-04:00"
    assert [(row["sampleSizeValue"], row["sampleSizeUnit"]) for row in rows] == [
        ("3", "kilometre"),
        ("5.5", "kilometre"),
        ("", ""),
    ]


def test_a_public_square_is_one_row_of_the_order_with_a_number_of_records(archive):
    rows = pd.DataFrame(
        {
            "public_id": ["urn:uuid:1", "urn:uuid:2"],
            "what": ["crossing", "square"],
            "counted": ["crossings", "nests"],
            "records": [1, 7],
            "day": ["2025-05-12", None],
            "taxon": ["Trachemys scripta", None],
            "count": [2.0, None],
            "condition": ["dead", None],
            "longitude": [-82.3, -82.25],
            "latitude": [29.6, 29.55],
            "position_error_m": [10.0, 7072.0],
            "dataGeneralizations": ["", "squares"],
            "informationWithheld": ["observer", "places"],
        }
    )
    with archive(public_occurrences(rows, taxonomy=taxonomy_of())) as reader:
        crossing, square = rows_of(reader)
    assert (square["scientificName"], square["taxonRank"]) == ("Testudines", "order")
    assert (square["organismQuantity"], square["organismQuantityType"]) == ("7", "records of nests")
    assert square["individualCount"] == square["eventDate"] == crossing["organismQuantity"] == ""
    assert (crossing["individualCount"], crossing["recordedBy"]) == ("2", "")


def test_metadata_say_what_it_is_when_and_for_whom(archive, season):
    with archive(team_occurrences(*season, taxonomy=taxonomy_of())) as reader:
        metadata = reader.metadata
    assert metadata.find("dataset/title").text == ABOUT.title
    assert date.fromisoformat(metadata.find("dataset/pubDate").text)
    assert metadata.find("dataset/intellectualRights/para").text == "open to everybody"
    assert metadata.find("dataset/abstract/para").text == "One & only <paragraph>."


def test_the_map_of_the_archive_names_the_columns_of_its_header(season):
    content = darwin_core_archive(team_occurrences(*season, taxonomy=taxonomy_of()), [], about=ABOUT)
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        meta = ET.fromstring(packed.read("meta.xml"))
        header = packed.read("occurrence.csv").decode("utf-8").splitlines()[0].split(",")
    fields = meta.findall(".//{http://rs.tdwg.org/dwc/text/}field")
    assert [field.get("term") for field in fields] == [term_uri(name) for name in header]
    assert [int(field.get("index")) for field in fields] == list(range(len(header)))


def test_the_same_tables_give_the_same_bytes(season):
    core = team_occurrences(*season, taxonomy=taxonomy_of())
    one, other = (darwin_core_archive(core, [], about=ABOUT) for _ in range(2))
    assert one == other
    assert not re.search(rb"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d\.", one)
