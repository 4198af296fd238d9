"""What the filters show, counted by hand in pandas from the same invented season, in a real browser."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from render.map_pages import choose, painted, settle
from render.season_maps import NOT_ENOUGH, full_map

from roadwatch.render.page import season_map


def day_of_leap_year(day):
    """The day of the year by pandas, as if the year were 2024."""
    return pd.Timestamp(f"2024-{day[5:10]}").day_of_year


def several_years(crossings, *, seed=3):
    """The invented crossings spread over three years; every tenth without a day, every ninth without sureness."""
    rng = np.random.default_rng(seed)
    years = rng.choice(["2023", "2024", "2025"], len(crossings))
    days = [year + day[4:] for year, day in zip(years, crossings["observed_at"], strict=True)]
    number = np.arange(len(crossings))
    crossings["observed_at"] = np.where(number % 10 == 9, None, days)
    crossings["id_confidence"] = np.where(number % 9 == 8, None, crossings["id_confidence"].astype(object))
    crossings["taxon"] = np.where(number % 5 == 4, "Trachemys scripta elegans", crossings["taxon"])
    return crossings


@pytest.fixture
def varied(season):
    content = season("team")
    several_years(content.places.crossings)
    return content


def shown(page):
    """The number that the page says it shows."""
    return int(page.inner_text("#shown").split(" ")[0].replace(",", ""))


def test_all_is_shown_until_something_is_chosen(varied, open_page):
    with open_page(season_map(varied)) as seen:
        assert seen.page.inner_text("#shown") == "120 of 120 crossings shown; 6 of 6 nests."
        assert seen.page.inner_text("#answer") == ""


@pytest.mark.parametrize("year", ["2023", "2024", "2025"])
def test_a_year_shows_its_own_crossings(varied, open_page, year):
    wanted = int((varied.places.crossings["observed_at"].str[:4] == year).sum())
    with open_page(season_map(varied)) as seen:
        choose(seen.page, year=year)
        assert 0 < shown(seen.page) == wanted < 120


def test_a_taxon_includes_what_stands_under_it(varied, open_page):
    taxon = varied.places.crossings["taxon"]
    with open_page(season_map(varied)) as seen:
        choose(seen.page, taxon="Trachemys scripta")
        assert shown(seen.page) == int(taxon.isin(["Trachemys scripta", "Trachemys scripta elegans"]).sum())
        choose(seen.page, taxon="Trachemys scripta elegans")
        assert shown(seen.page) == int((taxon == "Trachemys scripta elegans").sum()) == 24
        choose(seen.page, taxon="Emydidae")  # sliders, cooters and box turtles, but no snapping turtle
        assert shown(seen.page) == int((taxon != "Chelydra serpentina").sum()) < 120


@pytest.mark.parametrize("percent", [50, 80, 95])
def test_sureness_shows_names_at_least_so_sure_and_never_an_unknown_one(varied, open_page, percent):
    known = pd.to_numeric(varied.places.crossings["id_confidence"])
    with open_page(season_map(varied)) as seen:
        choose(seen.page, sureness=str(percent))
        assert shown(seen.page) == int((known >= percent / 100).sum()) < 120


def test_a_condition_shows_its_own_crossings_and_paints_fewer_dots(varied, open_page):
    with open_page(season_map(varied)) as seen:
        before = painted(seen.page)
        choose(seen.page, condition="0")
        assert shown(seen.page) == int((varied.places.crossings["condition"] == "alive").sum())
        assert 0 < painted(seen.page) < before


@pytest.mark.parametrize(("start", "end"), [(130, 160), (60, 61), (102, 366), (150, 150)])
def test_the_days_hold_in_every_year_and_leave_out_what_has_no_day(varied, open_page, start, end):
    days = varied.places.crossings["observed_at"].dropna().map(day_of_leap_year)
    first, last = int(days.min()), int(days.max())
    with open_page(season_map(varied)) as seen:
        choose(seen.page, start=str(start), end=str(end))
        real_start, real_end = max(start, first), min(end, 246)  # the last window ends on 2 September, day 246
        real_start = min(real_start, max(real_end, first))
        assert shown(seen.page) == int(days.between(real_start, max(real_end, first)).sum())
        assert "12 crossings without a day are left out" in seen.page.inner_text("#shown")
        assert last <= 246


def test_the_ends_of_the_days_push_one_another(varied, open_page):
    with open_page(season_map(varied)) as seen:
        choose(seen.page, end="120")
        choose(seen.page, start="140")
        assert seen.page.inner_text("#to-words") == seen.page.inner_text("#from-words") == "19 May"


def test_choices_hold_together_and_the_button_takes_all_of_them_back(varied, open_page):
    table = varied.places.crossings
    wanted = (
        (table["observed_at"].str[:4] == "2024")
        & (table["condition"] == "dead")
        & (table["taxon"] == "Pseudemys nelsoni")
    )
    with open_page(season_map(varied)) as seen:
        choose(seen.page, year="2024", condition="2", taxon="Pseudemys nelsoni")
        assert shown(seen.page) == int(wanted.sum())
        seen.page.click("#choose-reset")
        settle(seen.page)
        assert seen.page.inner_text("#shown") == "120 of 120 crossings shown; 6 of 6 nests."
        assert seen.page.input_value("#choose-year") == ""


def nests_drawn(page):
    return sorted(page.eval_on_selector_all(".nest", "nests => nests.map(nest => nest.title)"))


def test_nests_follow_year_taxon_and_days_on_the_map_and_in_their_table(season, open_page):
    # Windows: N0 20 July to 6 August, N1 1 to 20 August, N2 3 to 22 August, N3 20 June to 4 July, N4 10 August to
    # 2 September, N5 none; all found on 12 May. Day 152 is 31 May, 172 is 20 June, 186 is 4 July, 216 is 3 August.
    with open_page(season_map(season("team"))) as seen:
        page = seen.page
        choose(page, start="152", end="186")
        assert nests_drawn(page) == ["Nest N3"]
        assert page.locator("#nests tbody tr:visible").count() == 1
        choose(page, start="216", end="216")
        assert nests_drawn(page) == ["Nest N0", "Nest N1", "Nest N2"]
        choose(page, start="133", end="133")  # 12 May
        assert len(nests_drawn(page)) == 6
        page.click("#choose-reset")
        choose(page, taxon="Pseudemys nelsoni")
        assert nests_drawn(page) == []
        assert "0 of 6 nests" in page.inner_text("#shown")


def test_a_window_that_ends_next_spring_lasts_to_the_end_of_the_season(season, open_page):
    content = season("team")
    content.places.nests.loc[0, ["window_early", "window_late"]] = ["2025-08-20", "2026-04-15"]
    with open_page(season_map(content)) as seen:
        choose(seen.page, start="245", end="246")
        assert nests_drawn(seen.page) == ["Nest N0", "Nest N4"]


def test_measures_are_those_standing_within_the_choice(season, open_page):
    places = [shapely.Point(-82.3 + 0.02 * number, 29.6) for number in range(4)]
    measures = gpd.GeoDataFrame(
        {
            "kind": ["sign"] * 4,
            "built_on": ["2024-05-01", "2025-06-01", "2020-01-01", None],
            "removed_on": [None, None, "2024-12-31", None],
        },
        geometry=places,
        crs="EPSG:4326",
    )

    def drawn(page):
        return page.eval_on_selector_all(".built", "all => all.map(one => one.title.slice(-1)).sort().join('')")

    content = season("team", measures=measures)
    several_years(content.places.crossings)
    with open_page(season_map(content)) as seen:
        assert drawn(seen.page) == "1234"
        choose(seen.page, year="2024")
        assert drawn(seen.page) == "134"
        choose(seen.page, year="2025")
        assert drawn(seen.page) == "124"
        choose(seen.page, end="140")  # 19 May: before the second was built
        assert drawn(seen.page) == "14"
        assert seen.page.locator("#measures tbody tr:visible").count() == 2


def hotspots_drawn(page):
    return page.eval_on_selector_all(".badge[title^=Hotspot]", "all => all.map(one => one.title)")


def test_hotspots_are_those_computed_for_the_choice(season, open_page):
    with open_page(season_map(full_map(season, "team"))) as seen:
        page = seen.page
        assert len(hotspots_drawn(page)) == 3
        choose(page, year="2025")
        assert hotspots_drawn(page) == ["Hotspot 1: County Road 12, 12540 to 14080 m"]
        assert page.locator("#hotspots tbody tr").count() == 1
        assert page.inner_text("#hotspots h2").endswith("(2025)")
        assert page.inner_text("#answer") == "Hotspots are those of 2025."
        choose(page, year="", taxon="Trachemys scripta")
        assert hotspots_drawn(page) == []
        assert page.inner_text("#answer") == "Hotspots are those of Trachemys scripta: none was found."
        assert page.inner_text("#hotspots .empty") == "No hotspot was found for this choice."
        choose(page, taxon="")
        assert len(hotspots_drawn(page)) == page.locator("#hotspots tbody tr").count() == 3


def in_grey(page):
    titles = hotspots_drawn(page)
    return (
        len(titles) == 3
        and all(title.endswith("(all records)") for title in titles)
        and page.locator(".badge.grey").count() == 3
        and page.inner_text("#hotspots h2").endswith("(all records)")
        and page.locator(".layers label:has-text('Hotspots (all records)')").count() == 1
    )


@pytest.mark.parametrize(
    "wanted",
    [
        {"taxon": "Pseudemys nelsoni"},
        {"sureness": "80"},
        {"condition": "2"},
        {"start": "130"},
        {"year": "2025", "condition": "2"},
        {"year": "2025", "taxon": "Trachemys scripta"},
    ],
)
def test_where_no_answer_was_computed_all_records_stand_in_grey_and_say_so(season, open_page, wanted):
    with open_page(season_map(full_map(season, "team"))) as seen:
        choose(seen.page, **wanted)
        assert in_grey(seen.page)
        assert seen.page.inner_text("#answer").startswith(
            "Hotspots are those of all records, in grey: none was computed"
        )
        assert (NOT_ENOUGH in seen.page.inner_text("#answer")) == ({"year", "taxon"} == set(wanted))
        seen.page.click("#choose-reset")
        settle(seen.page)
        assert not in_grey(seen.page)


def test_squares_say_that_they_count_all_records(season, open_page):
    with open_page(season_map(full_map(season, "public"))) as seen:
        assert "squares" not in seen.page.inner_text("#shown")
        choose(seen.page, condition="2")
        assert "squares always count all records" in seen.page.inner_text("#shown")


def test_the_table_counts_the_crossings_shown(varied, open_page):
    table = varied.places.crossings
    with open_page(season_map(varied)) as seen:
        choose(seen.page, year="2024")
        rows = seen.page.locator("#crossings > .wide tbody tr:visible").all()
        found = {
            row.locator("th").inner_text(): [int(text) for text in row.locator("td").all_inner_texts()] for row in rows
        }
    own = table[table["observed_at"].str[:4] == "2024"]
    keys = ["alive", "injured", "dead", "unknown"]
    wanted = pd.crosstab(own["taxon"], own["condition"]).reindex(columns=keys, fill_value=0)
    assert found == {name: row.tolist() for name, row in wanted.iterrows()}


def test_the_list_of_crossings_is_leafed_through_and_follows_the_filters(varied, open_page):
    with open_page(season_map(varied)) as seen:
        page = seen.page
        page.click("#crossing-list summary")
        page.wait_for_selector("#crossing-list table")
        assert page.inner_text("#crossing-list-words") == "Crossings 1 to 20 of 120 shown"
        page.click("text=Further in the list")
        assert page.inner_text("#crossing-list-words") == "Crossings 21 to 40 of 120 shown"
        assert page.locator("#crossing-list tbody td").first.inner_text() == "R00020"
        choose(page, taxon="Chelydra serpentina")
        n = int((varied.places.crossings["taxon"] == "Chelydra serpentina").sum())
        assert page.inner_text("#crossing-list-words") == f"Crossings 1 to {min(n, 20)} of {n} shown"
