"""What a report tells of nests: numbers, and to the public none of fewer than three."""

from datetime import date

import pandas as pd
import pytest

from roadwatch.season.report_nests import _for_everybody, nests_section

DAY = date(2025, 7, 1)


def section(county, nest, n, audience):
    if n:
        county.ingest("n.csv", [nest(nest_id=f"secret-{k}") for k in range(n)])
    return nests_section(county.season, as_of=DAY, audience=audience)


def test_without_nests_the_section_says_what_is_missing(county, nest):
    told = section(county, nest, 0, "team")
    assert told.lacking.startswith("not enough data: the season holds no nest")
    assert not told.sentences


def test_one_nest_is_told_in_the_singular_to_the_team(county, nest):
    assert section(county, nest, 1, "team").sentences[0] == "1 nest is on record up to 2025-07-01."


@pytest.mark.parametrize(
    ("n", "told"), [(4, ""), (5, "At least 5 nests"), (9, "At least 5 nests"), (10, "At least 10 ")]
)
def test_the_public_hears_of_nests_in_steps_of_five(county, nest, n, told):
    found = section(county, nest, n, "public")
    assert not found.tables
    if told:
        assert found.sentences[0].startswith(told)
        assert "Too few were seen to end" in found.sentences[1]
    else:
        assert found.lacking == "Fewer than 5 nests are on record: nothing is told of so few."


def test_four_nests_that_were_never_seen_again_have_no_success(county, nest):
    told = section(county, nest, 4, "team")
    assert told.sentences[0] == "4 nests are on record up to 2025-07-01."
    assert "no success over the whole time is told" in " ".join(told.sentences)
    assert told.tables[0].rows["Nests"].sum() == 4


@pytest.mark.parametrize("audience", ["public", "team"])
def test_no_sentence_names_a_nest(county, nest, audience):
    told = section(county, nest, 6, audience)
    assert "secret" not in " ".join(told.sentences) + "".join(table.rows.to_csv() for table in told.tables)


def totals(success=0.52, low=0.38, high=0.65, losses=26):
    return pd.Series({"success": success, "success_low": low, "success_high": high, "losses": losses})


def test_the_share_that_came_through_is_rounded_outward_for_everybody():
    told = _for_everybody({"emerged": 12, "lost": 26}, totals(), as_of=DAY)
    assert told.sentences[1].startswith(
        "Of ten nests about 5 came through from laying to leaving (3 to 7, 95 %, rounded outward)"
    )


@pytest.mark.parametrize(("emerged", "losses"), [(2, 26), (12, 2)])
def test_a_share_of_few_endings_is_not_told_to_everybody(emerged, losses):
    told = _for_everybody({"emerged": emerged, "lost": 26}, totals(losses=losses), as_of=DAY)
    assert told.sentences[1] == "Too few were seen to end for a share that came through."


def test_one_nest_more_or_lost_changes_nothing_that_everybody_hears():
    before = _for_everybody({"emerged": 12, "lost": 26, "in_ground": 3}, totals(), as_of=DAY)
    after = _for_everybody({"emerged": 12, "lost": 27, "in_ground": 2}, totals(0.51, 0.37, 0.64, 27), as_of=DAY)
    assert before == after
