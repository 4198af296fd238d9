"""The answers behind a map's filters, beside the command that answers the same question."""

from datetime import date

import numpy as np
import pytest

from roadwatch.season.map_making import make_map
from roadwatch.season.mortality import season_hotspots

DAY = date(2026, 7, 1)


def at_one_place(crossing, year, n, **changes):
    """Dead animals within 300 m of one place, a day apart."""
    return [
        crossing(
            0.02 + 0.0004 * (k % 8),
            record_id=f"{year}-{k}",
            observed_at=f"{year}-{4 + k // 28:02d}-{1 + k % 28:02d}",
            observer="AB"[k % 2],
            **changes,
        )
        for k in range(n)
    ]


def scattered(crossing, year, n):
    east = np.linspace(-0.045, 0.045, n)
    return [
        crossing(float(x), record_id=f"{year}-s{k}", observed_at=f"{year}-{4 + k // 28:02d}-{1 + k % 28:02d}")
        for k, x in enumerate(east)
    ]


@pytest.fixture
def two_years(county, crossing):
    """2024: 40 dead at one place; 2025: 40 dead all along the road; 2023: six."""
    rows = [*at_one_place(crossing, 2024, 40), *scattered(crossing, 2025, 40), *scattered(crossing, 2023, 6)]
    county.ingest("c.csv", rows)
    return county


def answers(county, **options):
    made = make_map(county.season, audience="team", as_of=DAY, **options)
    return {(one.year, one.taxon): one for one in made.answers}


def test_each_year_has_its_own_hotspots(two_years):
    found = answers(two_years)
    alone = season_hotspots(two_years.season, rng=np.random.default_rng(1), years=(2024, 2024)).hotspots
    shown = found["2024", None].shown.table
    assert shown["road"].tolist() == alone["road"].tolist() == ["Invented East Road"]
    assert shown["deaths"].tolist() == pytest.approx(alone["deaths"].tolist())
    assert found["2025", None].shown.table.empty
    assert found["2025", None].note == ""


def test_a_year_with_too_few_says_so(two_years):
    assert answers(two_years)["2023", None].note == "6 dead to expect, too few to confirm a hotspot"


def test_the_first_answer_is_that_of_the_page_with_a_curve_for_each_hotspot(two_years):
    made = make_map(two_years.season, audience="team", as_of=DAY)
    first = made.answers[0]
    assert (first.year, first.taxon) == (None, None)
    assert first.shown is made.view.hotspots
    assert len(first.curves) == len(first.shown.table) > 0
    curve, row = first.curves[0], first.shown.table.iloc[0]
    assert (curve.from_m, curve.to_m) == (row["from_m"], row["to_m"])


def test_taxa_have_answers_where_names_tell_enough_of_them(two_years):
    asked = {taxon for year, taxon in answers(two_years) if year is None and taxon}
    assert "Trachemys" in asked
    assert "Gopherus polyphemus" not in asked


def test_quick_answers_for_all_records_only(two_years):
    assert list(answers(two_years, only_first=True)) == [(None, None)]


def test_without_records_enough_there_is_no_answer_and_a_note(county, crossing):
    county.ingest("c.csv", scattered(crossing, 2025, 3))
    made = make_map(county.season, audience="team", as_of=DAY)
    assert made.answers == ()
    assert any(note.startswith("No hotspots: not enough data") for note in made.notes)


def test_answers_for_the_public_rest_on_open_records_alone(two_years, crossing):
    """A sensitive animal more at one place moves nothing that the public sees of any year or taxon."""

    def told():
        made = make_map(two_years.season, audience="public", as_of=DAY)
        return [(one.year, one.taxon, one.note, one.shown.table.to_csv()) for one in made.answers]

    before = told()
    secret = {"taxon": "Gopherus polyphemus", "id_confidence": 1.0, "observer": "C"}
    two_years.ingest("s.csv", [crossing(-0.03, record_id="secret", observed_at="2025-06-30", **secret)])
    assert told() == before
