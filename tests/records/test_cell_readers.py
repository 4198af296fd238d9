from zoneinfo import ZoneInfo

import pytest

from roadwatch.records.cell_readers import MOST_SUGGESTED, doubt_about, reader_of
from roadwatch.records.complaints import Misread
from roadwatch.records.dates import ReadTime
from roadwatch.records.fields import all_fields, fields_of
from roadwatch.records.file_habits import FileHabits

HABITS = FileHabits(ZoneInfo("America/New_York"))
CROSSING = fields_of("crossings")


@pytest.mark.parametrize("field", all_fields(), ids=lambda field: f"{field.kind}.{field.name}")
def test_every_field_has_a_reader_that_answers_nonsense(field):
    answer = reader_of(field, habits=HABITS)("%%%")
    assert answer == "%%%" if field.type == "text" else isinstance(answer, Misread)


def test_the_habits_of_the_file_reach_the_readers():
    habits = FileHabits(
        ZoneInfo("America/New_York"), "day first", decimal_comma=True, per_cent=frozenset({"id_confidence"})
    )
    assert reader_of(CROSSING["latitude"], habits=habits)("29,6") == 29.6
    assert reader_of(CROSSING["observed_at"], habits=habits)("6/8/2025") == ReadTime("2025-08-06")
    assert reader_of(CROSSING["id_confidence"], habits=habits)("80") == 0.8


def test_the_unit_of_the_column_reaches_the_reader():
    assert reader_of(CROSSING["carapace_mm"], habits=HABITS, unit="cm")("20") == pytest.approx(200)


def test_an_unknown_taxon_is_answered_with_a_suggestion():
    answer = reader_of(CROSSING["taxon"], habits=HABITS)("snaping turtle")
    assert isinstance(answer, Misread)
    assert answer.reason.startswith("is not in the table of taxa; perhaps 'snapping turtle'")


def test_suggestions_stop_after_many_unknown_names():
    read = reader_of(CROSSING["taxon"], habits=HABITS)
    answers = [read(f"snaping turtle {i}").reason for i in range(MOST_SUGGESTED + 2)]
    assert ["perhaps" in answer for answer in answers] == [True] * MOST_SUGGESTED + [False] * 2


def test_doubt_is_said_only_where_it_was_written():
    assert "'slider?' is written with doubt" in doubt_about("slider?")
    assert doubt_about("slider") == ""
