"""
The metadata of an archive hold to their published schemas, and the check itself finds faults.

EML: elements, their order, and which must stand, of the profile that biodiversity archives use (GBIF profile 1.1 of
EML 2.1.1), as the classes of the library ``python-eml`` 0.0.2 (PyPI) tell them, which were made from its schema by a
program. The document written here was also looked over with the rules of ``metapype`` 0.3.0 (PyPI), which found
nothing wrong. Map of the archive: the text guide of Darwin Core (TDWG), from memory.
"""

import io
import zipfile
from xml.etree.ElementTree import fromstring

import pandas as pd
import pytest

from roadwatch.share.archives import About, ArchiveTable, darwin_core_archive

EML = "{eml://ecoinformatics.org/eml-2.1.1}"
TEXT = "{http://rs.tdwg.org/dwc/text/}"
LANG = "{http://www.w3.org/XML/1998/namespace}lang"
MANY = 99

# fmt: off
AGENT = {
    "organizationName": (0, MANY), "individualName": (0, MANY), "positionName": (0, MANY), "address": (0, 1),
    "phone": (0, 1), "electronicMailAddress": (0, 1), "onlineUrl": (0, 1), "userId": (0, MANY),
}
CHILDREN = {
    f"{EML}eml": {"dataset": (1, 1), "additionalMetadata": (0, 1)},
    "dataset": {
        "alternateIdentifier": (0, MANY), "title": (1, MANY), "creator": (1, MANY), "metadataProvider": (1, MANY),
        "associatedParty": (0, MANY), "pubDate": (1, 1), "language": (0, 1), "abstract": (1, 1),
        "keywordSet": (0, MANY), "additionalInfo": (0, 1), "intellectualRights": (0, 1), "distribution": (0, 1),
        "coverage": (0, 1), "purpose": (0, 1), "maintenance": (0, 1), "contact": (1, MANY), "methods": (0, 1),
        "project": (0, 1),
    },
    "creator": AGENT, "metadataProvider": AGENT, "contact": AGENT,
    "abstract": {"para": (1, MANY)}, "intellectualRights": {"para": (1, 1)},
    f"{TEXT}archive": {f"{TEXT}core": (1, 1), f"{TEXT}extension": (0, MANY)},
    f"{TEXT}core": {f"{TEXT}files": (1, 1), f"{TEXT}id": (0, 1), f"{TEXT}field": (1, MANY)},
    f"{TEXT}extension": {f"{TEXT}files": (1, 1), f"{TEXT}coreid": (1, 1), f"{TEXT}field": (1, MANY)},
    f"{TEXT}files": {f"{TEXT}location": (1, MANY)},
}
"""For each element its children in their order, each with the least and the most times it stands."""

FILE_ATTRIBUTES = {
    "rowType", "fieldsTerminatedBy", "linesTerminatedBy", "fieldsEnclosedBy", "encoding", "ignoreHeaderLines",
    "dateFormat",
}
ATTRIBUTES = {
    f"{EML}eml": {"packageId", "system", "scope", LANG}, f"{TEXT}archive": {"metadata"},
    f"{TEXT}core": FILE_ATTRIBUTES, f"{TEXT}extension": FILE_ATTRIBUTES, f"{TEXT}id": {"index"},
    f"{TEXT}coreid": {"index"}, f"{TEXT}field": {"index", "term", "default", "vocabulary", "delimitedBy"},
}
# fmt: on


def faults_of(element):
    """What does not hold to the schema, in words."""
    found = [
        f"{element.tag}: attribute {name}" for name in element.attrib if name not in ATTRIBUTES.get(element.tag, ())
    ]
    allowed = CHILDREN.get(element.tag, {})
    names = [child.tag for child in element]
    found += [f"{element.tag}: unknown {name}" for name in names if name not in allowed]
    places = [list(allowed).index(name) for name in names if name in allowed]
    if places != sorted(places):
        found.append(f"{element.tag}: order {names}")
    found += [
        f"{element.tag}: {names.count(name)} times {name}"
        for name, (least, most) in allowed.items()
        if not least <= names.count(name) <= most
    ]
    return found + [fault for child in element for fault in faults_of(child)]


@pytest.fixture(scope="module", params=["<T> & \u2018turtles\u2019", "Turtles on roads"])
def members(request):
    core = ArchiveTable("Occurrence", pd.DataFrame({"occurrenceID": ["a"], "basisOfRecord": ["HumanObservation"]}))
    facts = ArchiveTable("MeasurementOrFact", pd.DataFrame({"occurrenceID": ["a"], "measurementType": ["x"]}))
    about = About(request.param, "2025-07-01", ("One.", "Two & <three>."), "open to everybody")
    with zipfile.ZipFile(io.BytesIO(darwin_core_archive(core, [facts], about=about))) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


@pytest.mark.parametrize("name", ["eml.xml", "meta.xml"])
def test_metadata_hold_to_their_schema(members, name):
    assert faults_of(fromstring(members[name])) == []


def test_the_language_and_scope_are_those_that_the_schema_names(members):
    root = fromstring(members["eml.xml"])
    assert root.get("scope") in {"system", "document"}
    assert root.get("packageId")
    assert root.get(LANG) == "en"


def test_every_index_of_the_map_is_a_column_and_stands_once(members):
    for table in fromstring(members["meta.xml"]):
        location = table.find(f"{TEXT}files/{TEXT}location").text
        width = len(members[location].decode("utf-8").splitlines()[0].split(","))
        fields = [int(field.get("index")) for field in table.iter(f"{TEXT}field")]
        assert len(fields) == len(set(fields))
        assert set(fields) | {0} == set(range(width))


@pytest.mark.parametrize(
    ("before", "after", "fault"),
    [
        (b"<pubDate>2025-07-01</pubDate>", b"", "dataset: 0 times pubDate"),
        (b"<title>", b"<subtitle>x</subtitle><title>", "dataset: unknown subtitle"),
        (b"<language>en</language>", b"<language>en</language><title>again</title>", "dataset: order"),
        (b'scope="system"', b'scope="system" colour="red"', "attribute colour"),
    ],
)
def test_the_check_finds_faults(members, before, after, fault):
    broken = members["eml.xml"].replace(before, after)
    assert broken != members["eml.xml"]
    assert any(fault in told for told in faults_of(fromstring(broken)))
