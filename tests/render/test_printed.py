import xml.etree.ElementTree as ET

import geopandas as gpd
import pytest
import shapely

from roadwatch.render.layers import map_data
from roadwatch.render.printed import still_map


def drawn(content):
    return ET.fromstring(str(still_map(content, map_data(content)["bounds"])))


def test_the_still_map_is_well_formed_and_holds_no_style_script_or_link(season):
    picture = drawn(season("team"))
    assert {node.tag for node in picture.iter()} == {
        "figure",
        "svg",
        "rect",
        "path",
        "circle",
        "text",
        "ellipse",
        "figcaption",
    }
    assert not [node for node in picture.iter() if {"style", "href", "onclick"} & set(node.attrib)]


def test_ranks_stand_beside_their_hotspots(season):
    assert [node.text for node in drawn(season("team")).iter("text")] == ["1", "2", "3"]
    assert [node.text for node in drawn(season("public")).iter("text")] == ["1", "2"]


def test_nests_are_drawn_for_the_team_only(season):
    assert len(list(drawn(season("team")).iter("ellipse"))) == 6
    assert not list(drawn(season("public")).iter("ellipse"))


def test_everything_lies_within_the_frame(season):
    svg = drawn(season("team")).find("svg")
    _, _, width, height = map(float, svg.get("viewBox").split())
    for circle in svg.iter("circle"):
        assert 0 <= float(circle.get("cx")) <= width
        assert 0 <= float(circle.get("cy")) <= height


def test_a_square_on_the_ground_is_a_square_on_paper(season):
    # At 60 degrees north a degree of longitude is half as long as one of latitude (cos 60 = 0.5).
    block = gpd.GeoDataFrame({"road": ["x"]}, geometry=[shapely.LineString([(10, 59.5), (12, 60.5)])], crs="EPSG:4326")
    content = season("team", roads=block, water=block.iloc[:0])
    svg = drawn(content).find("svg")
    _, _, width, height = map(float, svg.get("viewBox").split())
    assert width / height == pytest.approx(2 * 0.5 / 1 * (1.03 + 0.03) / (1 + 0.12), rel=0.02)


def test_a_season_with_nothing_still_has_a_picture(season):
    content = season("team")
    bare = season("team", roads=content.roads.iloc[:0], water=content.water.iloc[:0])
    assert drawn(bare).find("svg") is not None


def test_every_crossing_is_on_paper_dead_square_and_others_round(season):
    shown = season("team")
    dotted = [path for path in drawn(shown).iter("path") if path.get("stroke-linecap")]
    dots = sum(path.get("d").count("h0") for path in dotted) / 2  # each is drawn twice: its casing and itself
    assert dots == len(shown.places.crossings)
    assert {path.get("stroke-linecap") for path in dotted} == {"square", "round"}
