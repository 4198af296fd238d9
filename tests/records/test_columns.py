from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.columns import guess_kind, match_columns, names_an_animal, plan_columns, unit_in_name
from roadwatch.records.fields import RECORD_KINDS, all_fields, fields_of

# Terms of the Darwin Core quick reference guide (TDWG) and what they hold, from memory.
DARWIN_CORE = {
    "occurrenceID": "record_id",
    "eventDate": "observed_at",
    "decimalLongitude": "longitude",
    "decimalLatitude": "latitude",
    "coordinateUncertaintyInMeters": "position_error_m",
    "scientificName": "taxon",
    "individualCount": "count",
    "vitality": "condition",
    "lifeStage": "life_stage",
    "sex": "sex",
    "reproductiveCondition": "gravid",
    "recordedBy": "observer",
    "eventID": "search_id",
    "identifiedBy": "verified_by",
    "dateIdentified": "verified_at",
    "associatedMedia": "photo",
    "occurrenceRemarks": "notes",
}


GOLDEN = Path(__file__).parents[1] / "golden"


def test_every_term_that_is_named_stands_in_the_published_list_of_terms():
    lines = (GOLDEN / "darwin_core_terms.txt").read_text("utf-8").splitlines()
    published = {line for line in lines if not line.startswith("#")}
    named = {term for field in all_fields() for term in [field.darwin_core] if term}
    assert {"occurrenceID", "vitality", "organismID", "eventDate"} <= named
    assert named | DARWIN_CORE.keys() <= published


@pytest.mark.parametrize(("term", "field"), DARWIN_CORE.items())
def test_darwin_core_terms_are_known(term, field):
    assert match_columns([term], "crossings") == {term: field}
    assert match_columns([f"dwc:{term}"], "crossings") == {f"dwc:{term}": field}


@pytest.mark.parametrize(
    ("term", "kind", "field"),
    [  # the same source, for the other kinds of record
        ("eventDate", "nests", "found_at"),
        ("organismID", "checks", "nest_id"),
        ("samplingProtocol", "searches", "method"),
        ("sampleSizeValue", "searches", "distance_km"),
        ("eventRemarks", "searches", "notes"),
    ],
)
def test_darwin_core_terms_of_the_other_kinds_are_known(term, kind, field):
    assert match_columns([term], kind) == {term: field}


@pytest.mark.parametrize("written", ["\N{ZERO WIDTH NO-BREAK SPACE}lat", " Lat. ", "LAT", "la_t", "lat\n"])
def test_marks_and_spaces_around_a_name_do_not_count(written):
    assert match_columns([written], "crossings") == {written: "latitude"}


def test_columns_of_a_road_layer_are_known_under_their_common_names():
    written = ["OBJECTID", "FULLNAME", "AADT", "BEGIN_MP", "END_MP", "RTE_ID", "SPD_LIMIT"]
    fields = ["road_id", "road", "traffic_per_day", "from_measure", "to_measure", "route_id", "speed_limit"]
    assert match_columns(written, "roads") == dict(zip(written, fields, strict=True))


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_canonical_names_match_themselves_in_any_spelling(kind):
    names = list(fields_of(kind))
    assert match_columns(names, kind) == {name: name for name in names}
    shouted = [name.upper().replace("_", " ") for name in names]
    assert match_columns(shouted, kind) == dict(zip(shouted, names, strict=True))


@pytest.mark.parametrize("field", all_fields(), ids=lambda field: f"{field.kind}.{field.name}")
def test_every_everyday_name_leads_to_its_field_when_it_stands_alone(field):
    for synonym in field.synonyms:
        assert match_columns([synonym], field.kind) == {synonym: field.name}


@pytest.mark.parametrize(
    ("written", "field"),
    [
        ("lat", "latitude"),
        ("LNG", "longitude"),
        ("species", "taxon"),
        ("date", "observed_at"),
        ("Date Found", "observed_at"),
        ("dead/alive", "condition"),
        ("Dead or Alive?", "condition"),
        ("SCL (in)", "carapace_mm"),
        ("How many", "count"),
        ("weather", None),
        ("", None),
        ("#", None),
    ],
)
def test_everyday_names_of_crossings(written, field):
    assert match_columns([written], "crossings").get(written) == field


def test_the_canonical_name_wins_and_the_other_is_kept_with_a_note():
    plan = plan_columns(["lat", "latitude", "decimalLatitude"], "crossings")
    assert plan.of_field == {"latitude": "latitude"}
    assert plan.other == ("lat", "decimalLatitude")
    assert plan.notes[0] == "column 'lat' is kept as written: 'latitude' already gives latitude"


def test_darwin_core_wins_over_an_everyday_name_in_any_order():
    for written in (["species", "scientificName"], ["scientificName", "species"]):
        assert plan_columns(written, "crossings").of_field == {"taxon": "scientificName"}


def test_date_and_time_columns_feed_one_field():
    written = ["date", "time", "lat", "lon", "species"]
    assert match_columns(written, "crossings")["time"] == "observed_at"
    times = plan_columns(written, "crossings").times["observed_at"]
    assert (times.main, times.clock, times.day) == ("date", "time", None)


def test_a_lone_time_column_is_the_date_and_time():
    plan = plan_columns(["time", "lat"], "crossings")
    assert plan.of_field["observed_at"] == "time"
    assert plan.times == {}


@pytest.mark.parametrize("names", [("start time", "end time"), ("start", "end"), ("begin", "finish")])
def test_hours_of_a_search_borrow_the_day_of_the_date_column(names):
    plan = plan_columns(["date", *names], "searches")
    start, end = plan.times["started_at"], plan.times["ended_at"]
    assert {start.main, start.clock, start.day} >= {"date", names[0]}
    assert (end.main, end.day) == (names[1], "date")
    assert plan.other == ()


def test_characters_seen_keep_their_column_under_one_spelling():
    plan = plan_columns(["Seen Upper-Jaw", "seen_tail", "seenoften"], "crossings")
    assert plan.seen == {"seen_upper_jaw": "Seen Upper-Jaw", "seen_tail": "seen_tail"}
    assert plan.other == ("seenoften",)


@pytest.mark.parametrize(
    ("written", "unit"),
    [("SCL (in)", "in"), ("tmax_f", "f"), ("Temp (°F)", "f"), ("depth cm", "cm"), ("latitude", ""), ("found in", "in")],
)
def test_units_in_names(written, unit):
    assert unit_in_name(written) == unit


def test_a_word_like_in_is_no_unit_where_the_field_has_none():
    assert match_columns(["species in"], "crossings") == {}


@pytest.mark.parametrize(
    ("kind", "written"),
    [
        ("crossings", ["Date", "Lat", "Lng", "Species", "dead/alive"]),
        ("crossings", ["id", "date", "lat", "lon", "species", "temperature"]),
        ("crossings", ["time", "name", "cmt", "desc", "longitude", "latitude"]),
        ("crossings", ["eventDate", "decimalLatitude", "decimalLongitude", "scientificName"]),
        ("crossings", ["observed_at", "longitude", "latitude", "taxon", "search_id", "how"]),
        ("nests", ["Nest ID", "Date Found", "lat", "lon", "species"]),
        ("nests", ["id", "date", "lat", "lon", "species", "clutch size"]),
        ("checks", ["nest_id", "date", "outcome"]),
        ("checks", ["nest", "visit date", "status"]),
        ("searches", ["search", "date", "start time", "end time", "mode", "roads"]),
        ("temperatures", ["station", "date", "tmin", "tmax"]),
        ("temperatures", ["series_id", "kind", "date", "tmin_c", "tmax_c", "longitude", "latitude"]),
        ("temperatures", ["serial", "Time", "Temp (°F)"]),
        ("people", ["name", "days", "hours", "lon", "lat"]),
        ("measures", ["measure_id", "type", "built"]),
    ],
)
def test_the_kind_is_guessed_from_the_columns(kind, written):
    assert guess_kind(written) == kind
    assert guess_kind(written[::-1]) == kind


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_the_kind_of_canonical_columns_is_guessed(kind):
    assert guess_kind(list(fields_of(kind))) == kind


@pytest.mark.parametrize("written", [[], ["foo", "bar"], ["lat", "lon"], ["species", "date"]])
def test_too_little_to_tell_is_no_kind(written):
    assert guess_kind(written) is None


def test_a_species_column_names_an_animal_and_a_name_column_may_not():
    assert names_an_animal(["Species"])
    assert not names_an_animal(["name", "cmt"])


@given(st.lists(st.text(max_size=12), unique=True, max_size=8), st.sampled_from(RECORD_KINDS))
def test_every_written_column_is_used_or_kept(written, kind):
    plan = plan_columns(written, kind)
    paired = {name for times in plan.times.values() for name in (times.clock, times.day, times.zone, *times.parts)}
    paired |= plan.place.used
    assert set(written) == {*plan.of_field.values(), *plan.seen.values(), *plan.other} | (paired - {None})
