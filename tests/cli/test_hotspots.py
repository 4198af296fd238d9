"""The hotspots command as its user runs it: tables, options, lists kept apart, and clear answers to bad input."""

import csv
import json

import pytest
from promised_columns import HOTSPOT_COLUMNS
from tiny_county import road_layer, road_line

PAGE_COLUMNS = 100


def dead(crossing, n, *, first=-0.045, step=0.0019, **changes):
    """Dead animals far enough apart in place and time to be no doubles."""
    return [
        crossing(
            first + step * k,
            record_id=f"{changes.get('search_id', 'd')}-{first}-{k}",
            observed_at=f"{2022 + k % 3}-{4 + k // 28:02d}-{1 + k % 28:02d}",
            **changes,
        )
        for k in range(n)
    ]


def heap(crossing, n=16, **changes):
    """Many deaths at one culvert over three years."""
    return [
        crossing(
            0.03 + 0.0002 * (k % 5),
            record_id=f"heap{k}",
            observed_at=f"{2022 + k % 3}-{4 + k // 6:02d}-{1 + (5 * k) % 28:02d}",
            observer="AB"[k % 2],
            **changes,
        )
        for k in range(n)
    ]


@pytest.fixture
def busy(county, crossing):
    """A season without searches: 46 dead, 16 of them at one culvert."""
    county.ingest("c.csv", [*dead(crossing, 30), *heap(crossing)])
    return county


@pytest.fixture
def searched(county, crossing):
    """A season with searches of one road, and chance finds on the other."""
    searches = [
        {"search_id": f"s{year}", "started_at": f"{year}-05-01", "method": "foot", "roads": "Invented East Road"}
        for year in (2022, 2023, 2024)
    ]
    county.ingest("s.csv", searches)
    found = [dict(row, search_id=f"s{row['observed_at'][:4]}") for row in [*dead(crossing, 30), *heap(crossing)]]
    north = [
        crossing(0.0, latitude=31.72, record_id=f"x{k}", observed_at=f"2023-{4 + k:02d}-10", search_id="")
        for k in range(5)
    ]
    county.ingest("c.csv", [*found, *north])
    return county


def test_tables_fit_a_page_and_long_road_names_are_cut(busy):
    result = busy.run("hotspots", busy.season, "--draws", 99)
    tables = [line for line in result.stdout.splitlines() if not line.startswith("- ")]
    assert max(map(len, tables)) <= PAGE_COLUMNS
    assert any(line.startswith("rank  road") for line in tables)
    assert any(line.startswith("rank  status") for line in tables)


def test_without_searches_the_output_says_that_nobody_knows_where_people_looked(busy):
    told = busy.run("hotspots", busy.season, "--draws", 99, "-o", busy.folder / "h.csv").stdout
    assert "where people looked is unknown" in told
    assert "where people looked is unknown" in (busy.folder / "h.txt").read_text(encoding="utf-8")
    assert {row["basis"] for row in busy.json("hotspots", busy.season, "--draws", 99)["hotspots"]} == {"unknown"}


def test_files_and_json_carry_every_promised_column(busy):
    busy.run("hotspots", busy.season, "--draws", 99, "-o", busy.folder / "h.csv")
    with (busy.folder / "h.csv").open(encoding="utf-8-sig", newline="") as file:
        written = next(csv.reader(file))
    row = busy.json("hotspots", busy.season, "--draws", 99)["hotspots"][0]
    more = [
        "rank_low",
        "rank_high",
        "one_season",
        "support",
        "leaves_without_observer",
        "leaves_without_repeats",
        "sexes",
        "stages",
    ]
    windows = ["window_from", "window_to", "hour_from", "hour_to", "deaths_low", "deaths_high", "stands_at_widths"]
    for columns in (written, list(row)):
        assert set(columns).issuperset([*HOTSPOT_COLUMNS, *more, *windows])


def test_the_watch_list_tells_metres_seen_beside_metres_by_chance(busy):
    notes = busy.json("hotspots", busy.season, "--draws", 99)["notes"]
    watched = [note for note in notes if note.startswith("Watch list")]
    assert all(" m of road outside hotspots stand out" in note for note in watched)
    few = busy.json("hotspots", busy.season, "--draws", 99, "--years", "2022")["notes"]
    assert any("would do so by chance" in note for note in few)


def test_chance_finds_are_listed_on_their_own_and_never_confirmed(searched):
    found = searched.json("hotspots", searched.season, "--draws", 99)
    assert {row["road"] for row in found["hotspots"]} == {"Invented East Road"}
    assert {row["road"] for row in found["unknown_effort"]} == {"Invented North Road"}
    assert {row["status"] for row in found["unknown_effort"]} == {"effort unknown"}
    assert {row["basis"] for row in found["unknown_effort"]} == {"unknown"}
    told = searched.run("hotspots", searched.season, "--draws", 99).stdout
    assert "Chance finds on their own (effort unknown, not confirmed)" in told
    searched.run("hotspots", searched.season, "--draws", 99, "-o", searched.folder / "h.csv")
    assert "Effort unknown 1: Invented North Road" in (searched.folder / "h.txt").read_text(encoding="utf-8")


def test_chance_finds_leave_the_test_of_searched_records_as_it_is(searched, crossing):
    (before,) = searched.json("hotspots", searched.season, "--draws", 99)["hotspots"]
    more = [crossing(0.0, latitude=31.68, record_id=f"y{k}", observed_at=f"2024-0{4 + k}-20") for k in range(4)]
    searched.ingest("more.csv", more)
    (after,) = searched.json("hotspots", searched.season, "--draws", 99)["hotspots"]
    for name in ("deaths", "expected", "ratio", "from_m", "to_m"):  # only the season's share of doubles moves a little
        assert after[name] == pytest.approx(before[name], rel=1e-3)


def test_validation_stands_beside_three_simple_rules(searched):
    found = searched.json("hotspots", searched.season, "--draws", 99, "--validate")
    rules = {row["rule"] for row in found["validation"]}
    assert {"hotspot map", "count per km", "last year's places"} <= rules
    assert {row["share_of_length"] for row in found["validation"]} == {0.01, 0.02, 0.05}
    for row in found["validation"]:
        assert row["pai_low"] <= row["pai"] <= row["pai_high"]
        assert row["pai"] == pytest.approx(row["hit_rate"] / row["share_of_length"])
    told = searched.run("hotspots", searched.season, "--draws", 99, "--validate").stdout
    assert "No wetland is on file" in told
    assert "PAI: 1 is chance" in told
    assert max(len(line) for line in told.splitlines() if not line.startswith("- ")) <= PAGE_COLUMNS
    assert "validation" not in searched.json("hotspots", searched.season, "--draws", 99)


def test_one_year_cannot_be_left_out_and_its_hotspots_are_told_all_the_same(busy):
    result = busy.run("hotspots", busy.season, "--draws", 99, "--years", "2022", "--validate")
    assert result.exit_code == 0
    assert result.stdout.startswith("rank  road")
    assert "Whether other years would have told cannot be asked: not enough data" in result.stdout
    assert "leaving a season out takes records of at least two" in result.stdout
    assert "PAI: 1 is chance" not in result.stdout


def test_a_taxon_has_support_counts_and_the_version_of_the_tables(busy):
    found = busy.json("hotspots", busy.season, "--draws", 99, "--taxon", "slider")
    assert 0.0 <= found["hotspots"][0]["support"] <= 1.0
    counts = {row["taxon"]: row for row in found["counts_by_taxon"]}
    assert sum(row["expected"] for row in counts.values()) == pytest.approx(46.0)
    assert all(row["identity_variance"] >= 0.0 for row in counts.values())
    assert any(found["tables_version"] in note for note in found["notes"])
    assert "support" in busy.run("hotspots", busy.season, "--draws", 99, "--taxon", "slider").stdout


def test_a_county_of_an_unknown_region_still_has_hotspots_of_all_turtles(folder, crossing):
    roads = folder.write("roads.geojson", road_layer(road_line("Invented East Road", (-0.05, 0), (0.05, 0))))
    folder.run("new", folder.season, "--roads", roads, "--timezone", "America/New_York")
    folder.ingest("c.csv", dead(crossing, 12))
    assert folder.run("hotspots", folder.season, "--draws", 19).exit_code == 0


def traffic_county(folder, crossing, *, known):
    east, north = ((-0.05, 0), (0.05, 0)), ((0, -0.05), (0, 0.05))
    lines = [
        road_line("Invented East Road", *east, traffic_per_day=4000, road_class="main"),
        road_line("Invented North Road", *north, road_class="main", **({"traffic_per_day": 900} if known else {})),
    ]
    folder.write("roads.geojson", road_layer(*lines))
    args = ("--roads", folder.folder / "roads.geojson", "--timezone", "America/New_York")
    folder.run("new", folder.season, *args)
    folder.ingest("c.csv", [*dead(crossing, 30), *heap(crossing)])
    return folder


def test_beyond_traffic_says_which_question_is_answered(folder, crossing):
    county = traffic_county(folder, crossing, known=True)
    notes = county.json("hotspots", county.season, "--draws", 99, "--beyond", "traffic")["notes"]
    assert any("more deaths than road length and traffic alone explain" in note for note in notes)
    assert any(note.startswith("Traffic: deaths grow with vehicles a day") for note in notes)


def test_traffic_unknown_on_most_of_the_road_is_refused(folder, crossing):
    county = traffic_county(folder, crossing, known=False)
    result = county.run("hotspots", county.season, "--beyond", "traffic", "--draws", 99)
    assert result.exit_code == 5
    assert "traffic is not known on" in result.stderr


def test_unknown_traffic_is_filled_in_by_class_and_the_share_is_told(folder, crossing):
    lines = [
        road_line("Invented East Road", (-0.05, 0), (0.05, 0), traffic_per_day=4000, road_class="main"),
        road_line("Invented West Road", (-0.1, 0.01), (-0.06, 0.01), road_class="main"),
    ]
    folder.write("roads.geojson", road_layer(*lines))
    folder.run("new", folder.season, "--roads", folder.folder / "roads.geojson", "--timezone", "America/New_York")
    folder.ingest("c.csv", dead(crossing, 30))
    notes = folder.json("hotspots", folder.season, "--draws", 19, "--beyond", "traffic")["notes"]
    assert "Traffic was not known on 29% of the road length and filled in by kind of road." in notes  # 4 of 14 parts


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([{}], "1 record can be used, at least 5 are needed"),
        (
            [{"record_id": f"p{k}", "observed_at": f"2024-0{1 + k}-09"} for k in range(9)],
            "9 dead records on roads lie on one point",
        ),
        ([{"condition": "alive"}], "no dead record"),
        (
            [
                {"latitude": 31.66, "longitude": -81.85, "record_id": f"f{k}", "observed_at": f"2024-0{1 + k}-09"}
                for k in range(6)
            ],
            "none of the 6 dead records lies near a road",
        ),
    ],
)
def test_too_little_is_said_clearly_and_is_exit_5(county, crossing, rows, said):
    county.ingest("c.csv", [crossing(0.01, **row) for row in rows])
    county.run("problems", county.season, "--accept", "all")
    result = county.run("hotspots", county.season, "--draws", 19)
    assert result.exit_code == 5, result.output
    assert "not enough data" in result.stderr
    assert said in result.stderr
    assert "Traceback" not in result.output


def test_searches_that_cover_no_road_are_zero_kilometres(county, crossing):
    county.ingest("s.csv", [{"search_id": "s1", "started_at": "2024-05-01", "method": "foot", "roads": "Elsewhere"}])
    county.ingest("c.csv", dead(crossing, 12))
    result = county.run("hotspots", county.season, "--draws", 19)
    assert result.exit_code == 5
    assert "none covers any road of the layer" in result.stderr
    assert "Elsewhere" in result.stderr


def test_roads_in_degrees_and_in_metres_give_the_same_places(busy, crossing, tmp_path_factory):
    import geopandas as gpd
    from tiny_county import County

    other = County(tmp_path_factory.mktemp("metres"))
    gpd.read_file(busy.folder / "roads.geojson").to_crs("EPSG:32617").to_file(other.folder / "roads.gpkg")
    region = ("--region", "SC_GA_coastal_plain")
    other.run("new", other.season, "--roads", other.folder / "roads.gpkg", "--timezone", "America/New_York", *region)
    other.ingest("c.csv", [*dead(crossing, 30), *heap(crossing)])
    one, two = (c.json("hotspots", c.season, "--draws", 99)["hotspots"][0] for c in (busy, other))
    assert one["from_m"] == pytest.approx(two["from_m"], abs=0.5)
    assert one["deaths"] == pytest.approx(two["deaths"], rel=1e-3)


def test_equal_seeds_print_equal_bytes(busy):
    first, second = (busy.run("hotspots", busy.season, "--draws", 99, "--json").stdout for _ in range(2))
    assert first == second
    assert json.loads(first)["seed"] == 1


def test_a_countys_own_tables_change_the_version_that_is_told(busy, crossing, tmp_path_factory):
    from tiny_county import County

    other = County(tmp_path_factory.mktemp("own"))
    tables = other.folder / "tables"
    tables.mkdir()
    (tables / "priors.csv").write_text(
        "region,taxon,weight_class,prior,source\nSC_GA_coastal_plain,Chelydra serpentina,rare,0.01,judgement\n",
        encoding="utf-8",
    )
    roads = other.write("roads.geojson", road_layer(road_line("Invented East Road", (-0.05, 0), (0.05, 0))))
    args = ("--roads", roads, "--timezone", "America/New_York", "--region", "SC_GA_coastal_plain", "--tables", tables)
    assert other.run("new", other.season, *args).exit_code == 0
    other.ingest("c.csv", dead(crossing, 12))
    own = other.json("hotspots", other.season, "--draws", 19, "--taxon", "slider")
    shipped = busy.json("hotspots", busy.season, "--draws", 19, "--taxon", "slider")
    assert own["tables_version"] != shipped["tables_version"]
    assert own["tables_version"] in " ".join(own["notes"])
