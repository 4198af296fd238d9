"""How a season's nests ended, by the season file and the command."""

from datetime import date

import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.season.outcomes import season_outcomes

AS_OF = date(2025, 10, 1)


def visit(nest_id, day, outcome, **counts):
    return {"nest_id": nest_id, "checked_at": day, "outcome": outcome, "hatchlings_live": "", "observer": "A"} | counts


@pytest.fixture
def season(county, nest):
    """Five invented nests: one emptied, one lost without and one lost under a cage, one waiting, one never visited."""
    nests = [
        nest(nest_id="a", protected_on=""),
        nest(nest_id="b", protected_on=""),
        nest(nest_id="c", protected_on="2025-06-01"),
        nest(nest_id="d", protected_on="2025-06-01"),
        nest(nest_id="e", protected_on=""),
    ]
    assert county.ingest("nests.csv", nests).exit_code == 0
    visits = [
        visit("a", "2025-08-08", "intact"),
        visit("a", "2025-08-12", "emerged", hatchlings_live=7),
        visit("b", "2025-06-11", "intact"),
        visit("b", "2025-06-21", "depredated_full"),
        visit("c", "2025-07-01", "intact"),
        visit("c", "2025-07-11", "crushed_or_mown"),
        visit("d", "2025-09-20", "hatched_overwintering", hatchlings_live=3),
    ]
    assert county.ingest("checks.csv", visits).exit_code == 0
    return county


def test_losses_and_days_at_risk_add_up_by_hand(season):
    found = season_outcomes(season.season, as_of=AS_OF)
    groups = found.groups.set_index("group")
    # a: to 10 August, 70 days; b: 16 June, 15; c: 6 July, 35; d: half of the way to 20 September, 55.5; e: none
    assert groups.loc["all nests", ["losses", "exposure_days"]].tolist() == [2, 70 + 15 + 35 + 55.5]
    assert groups.loc["days under a cage", ["losses", "exposure_days"]].tolist() == [1, 35 + 55.5]
    assert groups.loc["days without a cage", ["losses", "exposure_days"]].tolist() == [1, 85]
    assert groups.loc["all nests", "daily_survival"] == pytest.approx(1 - 2 / 175.5)
    assert groups.loc["all nests", "success"] == pytest.approx((1 - 2 / 175.5) ** 70)
    assert groups.loc["all nests", "success_low"] < groups.loc["all nests", "success"]


def test_fates_are_counted_and_those_in_the_ground_are_named(season):
    found = season_outcomes(season.season, as_of=AS_OF)
    assert dict(zip(found.counts["fate"], found.counts["nests"], strict=True)) == {
        "lost": 2,
        "emerged": 1,
        "hatched_waiting": 1,
        "in_ground": 1,
    }
    told = " ".join(found.notes)
    assert "Still in the ground: 1 nests (e)" in told
    assert "waiting in the nest: 1 nests (d)" in told
    assert "Live hatchlings seen: 10 at 2 nests" in told
    assert "1 nests were seen once only" in told
    assert "No nest is called failed before its spring window ends" in told


def test_cages_are_compared_with_an_interval_and_a_caution(season):
    told = " ".join(season_outcomes(season.season, as_of=AS_OF).notes)
    assert "Losses a day under a cage are 0.94 times those without" in told
    assert "Nobody drew lots for the cages" in told


def test_an_early_day_knows_less(season):
    early = season_outcomes(season.season, as_of=date(2025, 6, 15))
    assert set(early.nests["fate"]) == {"in_ground"}
    assert "no success is given" in early.notes[0]


def test_the_command_prints_tables_and_draws_the_curve(season):
    shown = season.run("outcomes", season.season, "--as-of", "2025-10-01", "-o", season.folder / "o.svg")
    assert shown.exit_code == 0, shown.output
    assert "days without a cage" in shown.output
    assert (season.folder / "o.svg").read_text("utf-8").startswith("<svg")
    found = season.json("outcomes", season.season, "--as-of", "2025-10-01", "-o", season.folder / "o.csv")
    assert {row["nest_id"]: row["fate"] for row in found["nests"]}["b"] == "lost"
    assert found["curve"][0]["survival"] == 1


def test_without_nests_there_is_nothing_to_sum_up(county):
    with pytest.raises(NotEnoughDataError, match="holds no nest found by that day"):
        season_outcomes(county.season, as_of=AS_OF)
