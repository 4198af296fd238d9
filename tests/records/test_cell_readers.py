from zoneinfo import ZoneInfo

import pytest

from roadwatch.records.cell_readers import MOST_SUGGESTED, doubt_about, reader_of
from roadwatch.records.complaints import Misread, Remarked
from roadwatch.records.fields import all_fields, fields_of
from roadwatch.records.file_habits import FileHabits
from roadwatch.records.taxonomy import taxonomy_of

HABITS = FileHabits(ZoneInfo("America/New_York"))
CROSSING = fields_of("crossings")


def reader(field, *, habits=HABITS, **options):
    return reader_of(field, habits=habits, taxonomy=taxonomy_of(), **options)


@pytest.mark.parametrize("field", all_fields(), ids=lambda field: f"{field.kind}.{field.name}")
def test_every_field_has_a_reader_that_answers_nonsense(field):
    answer = reader(field)("%%%")
    assert answer == "%%%" if field.type == "text" else isinstance(answer, Misread)


def test_the_habits_of_the_file_reach_the_readers():
    habits = FileHabits(
        ZoneInfo("America/New_York"), "day first", decimal_comma=True, per_cent=frozenset({"id_confidence"})
    )
    assert reader(CROSSING["latitude"], habits=habits)("29,6") == 29.6
    assert reader(CROSSING["observed_at"], habits=habits)("6/8/2025") == "2025-08-06"
    assert reader(CROSSING["id_confidence"], habits=habits)("80") == 0.8


def test_the_unit_of_the_column_reaches_the_reader():
    assert reader(CROSSING["carapace_mm"], unit="cm")("20") == pytest.approx(200)


def test_an_unknown_taxon_is_answered_with_a_suggestion():
    answer = reader(CROSSING["taxon"])("gofer tortoise")
    assert isinstance(answer, Misread)
    assert answer.reason.startswith("is not in the table of taxa; perhaps 'gopher tortoise'")
    assert answer.proposal == "gopher tortoise"


def test_a_name_with_a_slip_of_the_pen_is_answered_with_a_remark():
    answer = reader(CROSSING["taxon"])("snaping turtle")
    assert answer == Remarked("Chelydra serpentina", answer.remark)
    assert "is taken as 'snapping turtle'" in answer.remark


def test_suggestions_stop_after_many_unknown_names():
    read = reader(CROSSING["taxon"])
    answers = [read(f"gofer tortoise {i}").reason for i in range(MOST_SUGGESTED + 2)]
    assert ["perhaps" in answer for answer in answers] == [True] * MOST_SUGGESTED + [False] * 2


def test_doubt_is_said_only_where_it_was_written():
    assert "'slider?' is written with doubt" in doubt_about("slider?", taxonomy_of())
    assert doubt_about("slider", taxonomy_of()) == ""
