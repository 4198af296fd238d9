"""The hatch command: input that is wrong or wanting gets a clear line, and the other nests go on."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from tiny_county import road_layer, road_line

AS_OF = "2025-07-01"
FIRST, LAST = date(2003, 1, 1), date(2025, 7, 1)


def day_low_c(day: date) -> float:
    """Invented: 18 degrees C from April to October, 5 in winter, with a swing of eleven days and some years warmer."""
    return (18 if 4 <= day.month <= 10 else 5) + (day - FIRST).days % 11 * 0.4 + day.year % 7 * 0.3


def station(*, first=FIRST, last=LAST, blank_summer=0) -> list[dict]:
    rows = []
    for number in range((last - first).days + 1):
        day = first + timedelta(days=number)
        low = day_low_c(day)
        is_blank = day.year == blank_summer and day.month > 3
        ends = {"tmin_c": "" if is_blank else low, "tmax_c": "" if is_blank else low + 12}
        rows.append({"series_id": "inv", "date": day, **ends})
    return rows


def logger(name: str, *, above_c=4.0, in_pocket=False) -> list[dict]:
    """June in a nest, following the station; or in a pocket, following nothing."""
    rows = []
    for number in range(31):
        day = date(2025, 6, 1) + timedelta(days=number)
        low = 20.0 if in_pocket else day_low_c(day) + above_c
        high = 22.0 + number % 2 if in_pocket else low + 6
        rows.append({"series_id": name, "kind": "nest", "date": day, "tmin_c": low, "tmax_c": high})
    return rows


@pytest.fixture
def season(county):
    assert county.ingest("weather.csv", station()).exit_code == 0
    return county


def shown(county) -> str:
    result = county.run("hatch", county.season, "--as-of", AS_OF)
    assert result.exit_code == 0, result.output
    return result.output


def windows(county) -> dict[str, dict]:
    return {row["nest_id"]: row for row in county.json("hatch", county.season, "--as-of", AS_OF)["windows"]}


def test_a_laying_day_after_finding_is_held_back_with_the_cure_and_the_others_go_on(season, nest):
    told = season.ingest("nests.csv", [nest(nest_id="bad", laid_on="2025-06-09"), nest(nest_id="good")])
    assert told.exit_code == 3
    words = "line 2: laid_on 2025-06-09 lies after the nest was found, 2025-06-01; correct one of the two days"
    assert words in told.output
    found = windows(season)
    assert list(found) == ["good"]
    assert found["good"]["hatch_likely"]


def test_a_nest_without_a_taxon_is_held_back_and_one_named_turtle_says_why_it_has_no_window(season, nest):
    rows = [
        nest(nest_id="blank", taxon=""),
        nest(nest_id="any", taxon="turtle", id_confidence="1"),
        nest(nest_id="good"),
    ]
    told = season.ingest("nests.csv", rows)
    assert told.exit_code == 3
    assert "taxon is missing; write the animal's name, or 'turtle' where no more is known" in told.output
    found = windows(season)
    assert (found["any"]["basis"], found["good"]["basis"]) == ("none", "station_offset")
    assert "any: no projection: Testudines is too wide a name" in shown(season)


def test_temperatures_that_end_before_laying_are_filled_from_past_years_counted_and_doubted(county, nest):
    county.ingest("weather.csv", station(last=date(2025, 4, 30)))
    county.ingest("nests.csv", [nest()])
    # by hand: 1 May to 1 July are 31 + 30 + 1 days; 1 June to 1 July are 30 days after the day of laying
    assert "observed up to 2025-04-30; the 62 days from then to 2025-07-01 are filled from past years" in shown(county)
    row = windows(county)["n1"]
    assert row["sureness"] == "low"
    assert "no temperature in the 30 days before 2025-07-01; past years stand in" in row["note"]


def test_temperatures_too_few_to_stand_in_give_no_window_to_nests_that_need_them_alone(county, nest):
    county.ingest("weather.csv", station(first=date(2022, 1, 1), last=date(2024, 12, 31)))
    county.ingest("nests.csv", [nest(id_confidence="1"), nest(nest_id="box", taxon="Terrapene carolina")])
    words = (
        "n1: no projection: inv has no temperatures of 2025 by 2025-07-01, and 3 complete earlier years for the days "
        "still to come, 5 are needed; ingest a longer series"
    )
    assert words in shown(county)
    assert windows(county)["box"]["basis"] == "field_range"  # days from natural nests need no weather


def test_a_summer_that_is_all_missing_rests_on_past_years_and_says_so(county, nest):
    told = county.ingest("weather.csv", station(blank_summer=2025))
    assert told.exit_code in {0, 3}
    county.ingest("nests.csv", [nest()])
    # by hand: April to 1 July are 30 + 31 + 30 + 1 days
    assert "observed up to 2025-03-31; the 92 days from then to 2025-07-01 are filled from past years" in shown(county)
    assert windows(county)["n1"]["sureness"] == "low"


def test_a_logger_in_a_pocket_is_asked_after_and_its_nest_is_not_sure(season, nest):
    season.ingest("nests.csv", [nest(nest_id="pocket", logger_id="P"), nest(nest_id="good", logger_id="A")])
    for name, in_pocket in (("P", True), ("A", False)):
        assert season.ingest(f"{name}.csv", logger(name, in_pocket=in_pocket)).exit_code == 0
    assert "pocket: logger P does not follow the air" in shown(season)
    assert "was it in the ground, and is its clock right?" in shown(season)
    found = windows(season)
    assert (found["pocket"]["sureness"], found["good"]["sureness"]) == ("low", "high")
    assert "pocket" not in found["good"]["note"]


def test_two_loggers_that_disagree_are_named_with_how_far_they_are_apart(season, nest):
    season.ingest("nests.csv", [nest(nest_id="two", logger_id="A;B"), nest(nest_id="one", logger_id="A")])
    for name, above_c in (("A", 4.0), ("B", 8.0)):
        assert season.ingest(f"{name}.csv", logger(name, above_c=above_c)).exit_code == 0
    words = "two: loggers A and B differ by 4.0 °C on average: their middle was taken; check which one is right"
    assert words in shown(season)
    found = windows(season)
    assert (found["two"]["sureness"], found["one"]["sureness"]) == ("low", "high")
    assert found["two"]["hatch_likely"] < found["one"]["hatch_likely"]  # the middle is warmer


def test_what_stretched_the_weather_stands_in_notes_table_and_explanation(season, nest):
    season.ingest("nests.csv", [nest()])
    found = season.json("hatch", season.season, "--as-of", AS_OF, "--explain")
    assert found["windows"][0]["weather_factor"] >= 1
    weather = next(row for row in found["causes"] if row["cause"] == "weather")
    assert weather["stretched_by"] == pytest.approx(found["windows"][0]["weather_factor"])
    # by hand: of the years 2003 to 2024 the first nine have too few before them
    assert any("what 13 past summers of inv, 2012 to 2024" in note for note in found["notes"])
    assert "stretched_by" in season.run("hatch", season.season, "--as-of", AS_OF, "--explain").output


def test_where_too_few_past_years_teach_nothing_the_factor_is_blank(county, nest):
    county.ingest("weather.csv", station(first=date(2012, 1, 1)))
    county.ingest("nests.csv", [nest()])
    found = county.json("hatch", county.season, "--as-of", AS_OF)
    assert found["windows"][0]["weather_factor"] is None
    assert any("fewer than 15 complete past years to learn from" in note for note in found["notes"])


@pytest.fixture
def own_tables(folder, nest):
    """Make a season of a region that only its own tables know, with 20 summers of weather and a nest."""
    tables = folder.folder / "tables"
    tables.mkdir()
    head = "taxon,region,basis,base_c,base_se_c,sum_dd,sum_se_dd,correlation,days,days_se,at_c,days_low,days_high"
    row = "Trachemys scripta,mine,linear,10,0.2,{sum_dd},10,-0.8,,,,,"
    prior = "Testudines,any,base_prior,15.2,3.3,,,,,,,,,7.8,19.6,13,computed,computed_fits,low,p"
    rest = "lowest_c,highest_c,n,evidence,source,sureness,remark"
    slider = "15,35,9,invented,common_practice,medium,an invented slider"

    def make(sum_dd: int):
        text = f"{head},{rest}\n{row.format(sum_dd=sum_dd)},{slider}\n{prior}\n"
        (tables / "development.csv").write_text(text, encoding="utf-8")
        (tables / "regions.csv").write_text(
            "region,development_region,spring_from,spring_to,source,words\n"
            "mine,mine,04-01,06-01,common_practice,invented\n",
            encoding="utf-8",
        )
        roads = folder.write("roads.geojson", road_layer(road_line("Invented East Road", (-0.05, 0), (0.05, 0))))
        zone = ["--timezone", "America/New_York", "--region", "mine", "--tables", tables]
        made = folder.run("new", folder.season, "--roads", roads, *zone)
        assert made.exit_code == 0, made.output
        assert folder.ingest("weather.csv", station()).exit_code == 0
        assert folder.ingest("nests.csv", [nest(id_confidence="1")]).exit_code == 0
        return folder

    return make


def test_a_countys_own_development_decides_its_windows(own_tables):
    county = own_tables(800)
    row = windows(county)["n1"]
    # by hand: a low of 18 + 2.0 (eleven days) + 0.6 (2025 % 7 is 2), 6 to the middle, 2 in half shade: 28.6 degrees;
    # 800 / (28.6 - 10) = 43 days after 1 June
    likely = (date.fromisoformat(row["hatch_likely"]) - date(2025, 6, 1)).days
    assert likely == pytest.approx(43, abs=2)
    assert row["spring_early"] == "2026-04-01"


def test_hindcast_and_sex_ratio_rest_on_the_countys_own_development_too(own_tables):
    county = own_tables(800)
    told = county.json("hindcast", county.season)
    # with the shipped tables the region is unknown, and the command could not answer at all
    assert told["weather"][-1]["years"] == 22 - 9
    row = county.json("sex-ratio", county.season, "--as-of", "2025-07-01")["sex_ratios"][0]
    # by hand: the middle third of 43 days begins 14 days after laying
    begins = (date.fromisoformat(row["period_from"]) - date(2025, 6, 1)).days
    assert begins == pytest.approx(43 / 3, abs=2)


def test_outcomes_take_the_end_of_spring_from_the_countys_own_regions(own_tables):
    county = own_tables(800)
    told = county.json("outcomes", county.season, "--as-of", "2026-06-01")
    after = county.json("outcomes", county.season, "--as-of", "2026-06-02")
    # the invented region's spring ends on 1 June; the shipped ones end on 31 May
    assert [found["nests"][0]["fate"] for found in (told, after)] == ["in_ground", "not_known"]
