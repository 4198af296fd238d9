"""What kind of record a table holds: as asked, as its format says, or as its columns tell."""

import pytest

from roadwatch.records.tables import RawTable
from roadwatch.season.table_kind import kind_of_table, untold


def table(*columns):
    return RawTable.of_columns("a.csv", {name: ["x"] for name in columns}, lines=[2])


@pytest.mark.parametrize(
    ("columns", "kind"),
    [
        (("observed_at", "longitude", "latitude", "taxon"), "crossings"),
        (("nest_id", "found_at", "longitude", "latitude", "taxon"), "nests"),
        (("nest_id", "checked_at", "outcome"), "checks"),
        (("colour", "price"), None),
    ],
)
def test_the_columns_tell(columns, kind):
    assert kind_of_table(table(*columns), None) == kind


def test_what_the_user_says_comes_first():
    assert kind_of_table(table("nest_id", "found_at", "longitude", "latitude"), "searches") == "searches"


def test_a_file_of_problems_is_known_by_its_ids_whatever_else_it_holds():
    assert kind_of_table(table("held_back_id", "nest_id", "outcome"), "nests") == "crossings"


def test_a_table_that_does_not_tell_is_answered_with_its_columns_and_what_to_do():
    said = untold(table("colour", "price"))
    assert said.startswith("a.csv: the columns colour, price do not tell what the rows are; say it with '--as'")
