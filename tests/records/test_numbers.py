import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.complaints import Misread
from roadwatch.records.fields import CONFIDENCE_WORDS, all_fields, fields_of
from roadwatch.records.numbers import (
    expected,
    is_known_unit,
    is_per_cent,
    read_integer,
    read_number,
    read_probability,
)

CROSSING, TEMPERATURE, SEARCH = fields_of("crossings"), fields_of("temperatures"), fields_of("searches")
LATITUDE, LENGTH, ERROR = CROSSING["latitude"], CROSSING["carapace_mm"], CROSSING["position_error_m"]
NUMBERS = [field for field in all_fields() if field.type == "number"]


@pytest.mark.parametrize(("text", "value"), [("29.65", 29.65), ("-82.3", -82.3), ("+5", 5), (".5", 0.5), ("1e1", 10)])
def test_plain_numbers(text, value):
    assert read_number(text, CROSSING["longitude"]) == value


@pytest.mark.parametrize(("text", "value"), [("\N{MINUS SIGN}82.3", -82.3), ("-82.3°", -82.3), ("-82.3 °", -82.3)])
def test_a_printed_minus_and_a_degree_sign_do_no_harm(text, value):
    assert read_number(text, CROSSING["longitude"]) == value


@pytest.mark.parametrize("text", ["N45.1", "29,65", "29° 39' 4\"", "1_000", "0x10", "inf", "nan", "1 2", "--5", "٣;"])
def test_anything_else_is_told_with_an_example(text):
    cure = "is not a number; write decimal degrees, such as 29.6516"
    assert read_number(text, LATITUDE) == Misread(cure)


def test_a_decimal_comma_is_read_where_the_file_has_it():
    assert read_number("29,65", LATITUDE, decimal_comma=True) == 29.65
    assert read_number("29.65", LATITUDE, decimal_comma=True) == 29.65
    assert isinstance(read_number("1,234,5", LATITUDE, decimal_comma=True), Misread)


@pytest.mark.parametrize(
    ("text", "value"), [("90", 90.0), ("-90", -90.0), ("90.001", None), ("-90.5", None), ("1e9", None)]
)
def test_the_range_takes_in_its_ends(text, value):
    answer = read_number(text, LATITUDE)
    assert answer == value if value is not None else isinstance(answer, Misread)


def test_a_range_that_leaves_out_its_end_says_so():
    # Darwin Core: zero is not a valid coordinateUncertaintyInMeters
    answer = read_number("0", ERROR)
    assert isinstance(answer, Misread)
    assert "above 0 to 100000" in answer.reason


@pytest.mark.parametrize(
    ("text", "field", "unit", "value"),
    [  # NIST Special Publication 811, Appendix B: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 mi = 1.609344 km, exact
        ("8", LENGTH, "in", 203.2),
        ("8 in", LENGTH, "", 203.2),
        ("20.32 cm", LENGTH, "", 203.2),
        ("100", ERROR, "ft", 30.48),
        ("30 m", ERROR, "", 30.0),
        ("2", SEARCH["distance_km"], "miles", 3.218688),
        ("32", TEMPERATURE["temp_c"], "f", 0.0),
        ("212 °F", TEMPERATURE["tmax_c"], "", None),  # 100 degrees C lies outside what a day can reach
        ("-40°F", TEMPERATURE["tmin_c"], "", -40.0),
        ("21.5 °C", TEMPERATURE["temp_c"], "f", 21.5),  # the cell's own unit goes before the column's
    ],
)
def test_units_are_turned_into_the_field_s_own(text, field, unit, value):
    answer = read_number(text, field, unit=unit)
    assert answer == pytest.approx(value, abs=1e-9) if value is not None else isinstance(answer, Misread)


def test_a_unit_of_another_kind_is_not_a_number():
    assert isinstance(read_number("8 lb", LENGTH), Misread)
    assert not is_known_unit("lb", field=LENGTH)
    assert is_known_unit("wgs84", field=LATITUDE)


@pytest.mark.parametrize(("text", "degrees"), [("N", 0), ("southwest", 225), ("NW", 315), ("270", 270)])
def test_headings_may_be_compass_points(text, degrees):
    assert read_number(text, CROSSING["heading_deg"]) == degrees


@pytest.mark.parametrize(("text", "value"), [("2", 2), ("2.0", 2)])
def test_whole_numbers(text, value):
    assert read_integer(text, CROSSING["count"]) == value


def test_a_broken_number_is_no_count():
    assert read_integer("2.5", CROSSING["count"]) == Misread("is not a whole number; write how many, such as 2")


def test_both_sides_are_two():
    assert read_integer("both", SEARCH["sides"]) == 2


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.8", 0.8),
        ("1", 1.0),
        ("0", 0.0),
        ("80%", 0.8),
        ("80 %", 0.8),
        ("certain", 0.95),
        ("Likely", 0.8),
        ("unsure", 0.5),
        ("sure", CONFIDENCE_WORDS["certain"]),
        ("probable", CONFIDENCE_WORDS["likely"]),
        ("maybe", CONFIDENCE_WORDS["unsure"]),
        ("?", CONFIDENCE_WORDS["unsure"]),
    ],
)
def test_probabilities_in_their_forms(text, value):
    assert read_probability(text) == value


@pytest.mark.parametrize("text", ["80", "1.2", "-0.1", "120%", "very", "5/10"])
def test_what_is_no_probability_is_told(text):
    assert isinstance(read_probability(text), Misread)


def test_a_column_in_per_cent_divides_by_a_hundred():
    assert read_probability("80", per_cent=True) == 0.8
    assert read_probability("80%", per_cent=True) == 0.8
    assert read_probability("0,8", decimal_comma=True) == 0.8


@pytest.mark.parametrize(
    ("cells", "name", "per_cent"),
    [
        (["80", "95", "50"], "confidence", True),
        (["80", "sure"], "confidence", True),
        (["0.8", "95"], "confidence", False),
        (["1", "100"], "confidence", False),
        (["2", "5", "4"], "confidence", False),  # a scale of 1 to 5 is not a per cent
        (["80", "150"], "confidence", False),
        (["0.5"], "confidence %", True),
        (["1"], "sure_pct", True),
        (["sure"], "confidence", False),
        ([], "confidence", False),
    ],
)
def test_per_cent_is_taken_only_where_the_column_says_so(cells, name, per_cent):
    assert is_per_cent(cells, written_name=name) is per_cent


def test_the_cure_names_the_unit():
    assert expected(LENGTH) == "a plain number in mm"


@given(st.floats(-90, 90))
def test_a_number_written_out_is_read_back(value):
    assert read_number(repr(value), LATITUDE) == value


@given(st.text(), st.sampled_from(NUMBERS), st.booleans())
def test_any_text_is_a_finite_number_or_a_misreading(text, field, comma):
    answer = read_number(text, field, decimal_comma=comma)
    assert isinstance(answer, Misread) or math.isfinite(answer)
    assert isinstance(read_probability(text), Misread) or 0 <= read_probability(text) <= 1
