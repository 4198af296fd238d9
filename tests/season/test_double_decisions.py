"""A person's word on a pair of records holds wherever animals are counted, with its trace, until decided anew."""

import pytest

from roadwatch.errors import UsageError
from roadwatch.records.store import Season
from roadwatch.season.animals import animals_of_season, double_id
from roadwatch.season.double_decisions import decide_doubles

NOW, LATER = "2025-07-01T08:00:00-04:00", "2025-07-02T08:00:00-04:00"


@pytest.fixture
def season(county, crossing):
    """Two records that are surely one animal, two that may be, and two that are far from all others."""
    lonely = [
        crossing(-0.045 + 0.002 * k, record_id=f"l{k}", observed_at=f"2025-0{4 + k % 5}-{3 + k:02d}") for k in range(12)
    ]
    rows = [
        crossing(0.03, record_id="a1", observed_at="2025-05-12", observer="Ann"),
        crossing(0.03005, record_id="b1", observed_at="2025-05-12", observer="Bea"),
        crossing(0.02, record_id="far, away", observed_at="2025-05-12"),
        crossing(0.01, record_id="c1", observed_at="2025-08-12"),
    ]
    county.ingest("lonely.csv", lonely)
    assert county.ingest("c.csv", rows).exit_code == 0
    return Season.open(county.season)


def decide(season, word, *asked, who="Ana", when=NOW, why="one photograph"):
    return decide_doubles(season, animals_of_season(season.path), asked, word, who=who, when=when, why=why)


def animals(season):
    records = animals_of_season(season.path).records
    return records.set_index("record_key")["animal"]


def test_two_records_told_to_be_different_are_counted_as_two(season):
    assert animals(season)["a1"] == animals(season)["b1"]
    (done,) = decide(season, "no", double_id("a1", "b1"))
    assert (done.record_a, done.record_b, done.meaning) == ("a1", "b1", "different animals")
    assert animals(season)["a1"] != animals(season)["b1"]


def test_two_records_told_to_be_one_are_counted_once_however_far_apart(season):
    decide(season, "yes", "c1,a1")
    found = animals(season)
    assert found["a1"] == found["c1"] == found["b1"], "b1 fits a1, which is c1"
    view = animals_of_season(season.path).merged_view().set_index("record_key")
    assert view.loc["a1", "merged_records"] == "b1;c1"


def test_names_with_commas_in_them_are_found(season):
    (done,) = decide(season, "yes", "far, away,c1")
    assert {done.record_a, done.record_b} == {"far, away", "c1"}


def test_the_list_shows_what_was_decided_by_whom_and_why_and_keeps_the_probability(season):
    before = animals_of_season(season.path).proposals().set_index("double_id")
    name = double_id("a1", "b1")
    decide(season, "no", name)
    after = animals_of_season(season.path).proposals().set_index("double_id")
    assert after.loc[name, "decided"] == "different animals, by Ana on 2025-07-01: one photograph"
    assert (after.loc[name, "p"], bool(after.loc[name, "merged"])) == (before.loc[name, "p"], False)
    assert "kept apart" not in after.loc[name, "reasons"]


def test_a_decided_pair_is_listed_though_the_records_would_not_propose_it(season):
    decide(season, "yes", "a1,c1")
    listed = animals_of_season(season.path).proposals().set_index("double_id")
    assert listed.loc[double_id("a1", "c1"), "merged"]


def test_the_notes_count_decided_pairs_and_no_longer_call_them_undecided(season):
    decide(season, "yes", "a1,c1")
    decide(season, "no", "b1,far, away")
    merged, _ = animals_of_season(season.path).notes()
    assert merged.endswith("A person decided 2 pairs: 1 as one animal, 1 as different animals.")


def test_both_records_tell_the_decision_in_their_history(season):
    decide(season, "no", double_id("a1", "b1"))
    for one, other in (("a1", "b1"), ("b1", "a1")):
        (change,) = season.trace("crossings", one).changes
        assert (change["field"], change["old"], change["new"]) == (f"same animal as {other}", "undecided", "no")
        assert (change["who"], change["changed_at"], change["why"]) == ("Ana", NOW, "one photograph")


def test_the_latest_decision_holds_and_all_stay_in_the_history(season):
    decide(season, "no", "a1,b1")
    decide(season, "yes", "b1,a1", when=LATER)
    assert animals(season)["a1"] == animals(season)["b1"]
    assert season.decisions()["word"].tolist() == ["yes"]
    assert [row["new"] for row in season.trace("crossings", "a1").changes] == ["no", "yes"]


def test_a_decision_taken_back_leaves_the_pair_to_the_records(season):
    decide(season, "no", "a1,b1")
    decide(season, "undecided", "a1,b1", when=LATER)
    assert season.decisions().empty
    assert animals(season)["a1"] == animals(season)["b1"]


def test_a_decision_that_was_never_made_cannot_be_taken_back(season):
    with pytest.raises(UsageError, match="nobody decided about a1 and b1"):
        decide(season, "undecided", "a1,b1")


def test_a_decision_that_contradicts_others_is_refused_and_nothing_is_kept(season):
    decide(season, "yes", "a1,b1", "b1,c1")
    with pytest.raises(UsageError, match="other decisions make them one"):
        decide(season, "no", "a1,c1")
    assert set(season.decisions()["word"]) == {"yes"}
    assert len(season.trace("crossings", "c1").changes) == 1


def test_a_pair_told_to_be_different_cannot_be_made_one_by_way_of_a_third(season):
    decide(season, "no", "a1,c1")
    decide(season, "yes", "a1,b1")
    with pytest.raises(UsageError, match="a1 and c1 were told to be different animals"):
        decide(season, "yes", "b1,c1")


@pytest.mark.parametrize("asked", ["d0000000000", "a1", "a1,nobody", "a1,a1", ""])
def test_what_is_no_pair_is_told_with_what_to_write(season, asked):
    with pytest.raises(UsageError, match="is no double of this season; take a double_id"):
        decide(season, "yes", asked)


def test_a_decision_needs_its_reason(season):
    with pytest.raises(UsageError, match="needs its reason"):
        decide(season, "yes", "a1,b1", why=" ")


def test_a_decision_ends_when_one_of_its_records_leaves(season):
    decide(season, "no", "a1,l3")
    season.undo(1, who="Ana", when=LATER, why="")
    assert season.decisions().empty
    (change,) = season.trace("crossings", "a1").changes
    assert change["undone_at"] == LATER
    assert len(animals_of_season(season.path).records) == 4


def test_a_decision_is_found_again_after_more_files_have_come(season, county, crossing):
    decide(season, "no", "a1,b1")
    county.ingest("later.csv", [crossing(0.03, record_id=f"m{k}", observed_at=f"2025-06-{k + 10}") for k in range(9)])
    assert animals(season)["a1"] != animals(season)["b1"]
