"""A mark that cannot be used is said while the file is at hand, and the record is kept."""

import pytest

from roadwatch.records.store import Season


def test_a_known_mark_is_kept_without_a_remark(county, crossing):
    told = county.ingest("c.csv", [crossing(view="in_hand", seen_plastron_pattern="front_smudges|none")])
    assert told.exit_code == 0
    assert "not used to identify" not in told.output
    kept = Season.open(county.season).read("crossings")
    assert kept["seen_plastron_pattern"].tolist() == ["front_smudges|none"]


@pytest.mark.parametrize(
    ("column", "state", "view"),
    [
        ("seen_plastron_pattern", "purple_dots", "in_hand"),
        ("seen_whiskers", "long", "in_hand"),
        ("seen_plastron_pattern", "front_smudges", "from_above"),
    ],
    ids=["no such state", "no such character", "the belly is not seen from above"],
)
def test_a_mark_that_cannot_be_used_is_noted_and_the_record_kept(county, crossing, column, state, view):
    told = county.ingest("c.csv", [crossing(view=view, **{column: state})])
    assert told.exit_code == 0, told.output
    assert f"{column} '{state}' is not used to identify" in told.output
    kept = Season.open(county.season).read("crossings")
    assert kept[column].tolist() == [state]
