"""What the public sees of a season never holds a nest's place."""

import csv
from datetime import date
from importlib.resources import files

import geopandas as gpd
import pandas as pd
import pytest
import shapely
from tiny_county import CENTRE, road_layer, road_line

from roadwatch.errors import RoadwatchError
from roadwatch.records.season_file import reading
from roadwatch.season.open_season import OpenSeason
from roadwatch.season.public_view import is_sensitive, season_view, sensitive_names


def test_the_public_sees_no_nest_and_the_team_does(county, crossing, nest):
    county.ingest("c.csv", [crossing(), crossing(0.02, taxon="box turtle")])
    county.ingest("n.csv", [nest()])
    public = season_view(county.season, audience="public", today=date(2025, 7, 1))
    team = season_view(county.season, audience="team", today=date(2025, 7, 1))
    assert public.places.nests.empty
    assert len(public.places.crossings) == 1
    assert len(team.places.nests) == 1
    assert len(team.places.crossings) == 2


def test_an_empty_season_can_be_shown(county):
    assert season_view(county.season, audience="public", today=date(2025, 7, 1)).years == ("", "")


def test_sensitive_names_reach_up_to_everything_that_holds_them():
    # common practice, no source: gopher tortoises, box turtles and terrapins are kept from collectors
    assert {
        "Gopherus polyphemus",
        "Terrapene carolina",
        "Malaclemys terrapin",
        "Emydidae",
        "cooter group",
        "Testudines",
    } <= sensitive_names()
    assert "Chelydra serpentina" not in sensitive_names()


def test_nests_stand_in_the_order_of_a_coordinators_need(county, nest):
    county.ingest("n.csv", [nest(nest_id=f"n{k}") for k in range(1, 5)])
    windows = pd.DataFrame(
        {
            "nest_id": ["n1", "n2", "n3", "n4"],
            "hatch_likely": ["2025-08-09", None, "2025-08-01", "2024-08-01"],
            "hatch_late": ["2025-08-20", None, None, "2024-08-20"],
        }
    )
    view = season_view(county.season, audience="team", today=date(2025, 7, 1), windows=windows)
    assert view.places.nests["nest_id"].tolist() == ["n3", "n1", "n4", "n2"]


def test_a_county_may_call_other_taxa_sensitive_by_its_own_table(folder, crossing):
    tables = folder.folder / "tables"
    tables.mkdir()
    rows = (files("roadwatch") / "data" / "taxa.csv").read_text(encoding="utf-8").splitlines()
    head = rows[0].split(",").index("sensitive")
    own = list(csv.reader(rows))
    for row in own[1:]:
        row[head] = "1" if row[0] == "Chelydra serpentina" else row[head]
    with (tables / "taxa.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(own)
    roads = folder.write("roads.geojson", road_layer(road_line("Invented East Road", (-0.05, 0), (0.05, 0))))
    made = folder.run("new", folder.season, "--roads", roads, "--timezone", "America/New_York", "--tables", tables)
    assert made.exit_code == 0, made.output
    folder.ingest("c.csv", [crossing(taxon="Chelydra serpentina", id_confidence=1), crossing(0.02, id_confidence=1)])
    view = season_view(folder.season, audience="public", today=date(2025, 7, 1))
    assert view.places.crossings["taxon"].tolist() == ["Trachemys scripta"]
    assert is_sensitive(folder.season, "snapping turtle")


def test_a_public_view_is_noted_as_a_release_and_a_team_view_is_not(county, crossing):
    county.ingest("c.csv", [crossing()])
    season_view(county.season, audience="team", today=date(2025, 7, 1))
    season_view(county.season, audience="public", today=date(2025, 7, 1), file_name="map.html")
    with reading(county.season) as connection:
        noted = connection.execute("SELECT released_at, what, file_name FROM releases").fetchall()
    assert noted == [("2025-07-01", "map", "map.html")]


def hotspot(*, rank=1):
    line = shapely.LineString([(CENTRE[0] + 0.005, CENTRE[1]), (CENTRE[0] + 0.015, CENTRE[1])])
    return gpd.GeoDataFrame({"rank": [rank], "road": ["Invented East Road"]}, geometry=[line], crs="EPSG:4326")


@pytest.fixture
def with_a_box_turtle(county, crossing):
    sure = {"taxon": "Chelydra serpentina", "id_confidence": 0.99}
    rows = [crossing(0.01 + k / 10_000, record_id=f"s{k}", **sure) for k in range(4)]
    county.ingest("c.csv", [*rows, crossing(0.0105, record_id="box", taxon="box turtle", id_confidence=0.99)])
    return county


@pytest.mark.parametrize(("audience", "names"), [("public", 4), ("team", 5)])
def test_hotspots_are_found_in_the_season_as_each_audience_has_it(with_a_box_turtle, audience, names):
    seen = []

    def find(season):
        seen.append(season)
        return hotspot()

    view = season_view(with_a_box_turtle.season, audience=audience, today=date(2025, 7, 1), hotspots=find)
    assert len(view.hotspots.table) == 1
    assert view.opened is seen[0]
    assert isinstance(seen[0], OpenSeason) == (audience == "public")
    assert len(seen[0].read("crossings")) == names


def test_the_public_gets_no_hotspots_found_from_all_records(with_a_box_turtle):
    with pytest.raises(RoadwatchError, match="found from 1 records that must be masked"):
        season_view(with_a_box_turtle.season, audience="public", today=date(2025, 7, 1), hotspots=hotspot())


def test_a_season_with_too_few_records_has_no_hotspots(with_a_box_turtle):
    view = season_view(with_a_box_turtle.season, audience="public", today=date(2025, 7, 1), hotspots=lambda _: None)
    assert view.hotspots.table.empty
