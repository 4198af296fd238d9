import xml.etree.ElementTree as ET

import geopandas as gpd
import pytest
import shapely
from pyproj import Geod
from render.season_maps import full_map

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
        "defs",
        "use",
    }
    assert not [node for node in picture.iter() if {"style", "onclick"} & set(node.attrib)]
    ids = {"#" + node.get("id") for node in picture.iter() if node.get("id")}
    assert {node.get("href") for node in picture.iter() if node.get("href")} == ids  # only to itself


def test_the_scale_bars_are_as_long_as_they_say(season):
    content = season("team")
    bars = drawn(content).findall(".//svg/path")[:2]
    words = [node.text for node in drawn(content).iter("text")][:2]
    west, south, east, north = content.roads.total_bounds
    wide = Geod(ellps="WGS84").line_length([west, east], [(south + north) / 2] * 2)
    span = (east - west) * 720 / (1.06 * (east - west))  # the frame has a margin of 3 % on each side
    for bar, text, metres in zip(bars, words, (1000, 1609.344), strict=True):  # NIST SP 811, B.8: a mile is 1609.344 m
        length_px = float(bar.get("d").split("h")[1].split("v")[0])
        assert length_px * wide / span == pytest.approx(float(text.split()[0]) * metres, rel=0.01)
    assert [text.split()[1] for text in words] == ["km", "mi"]


def test_ranks_stand_beside_their_hotspots(season):
    def ranks(audience):
        return [node.text for node in drawn(season(audience)).iter("text") if node.get("text-anchor")]

    assert ranks("team") == ["1", "2", "3"]
    assert ranks("public") == ["1", "2"]


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


def test_dead_crossings_are_square_on_paper_and_others_round(season):
    dotted = [path for path in drawn(season("team")).iter("path") if path.get("stroke-linecap")]
    assert len(dotted) == 4  # one for each condition, used twice: as a casing and as a dot
    assert {path.get("stroke-linecap") for path in dotted} == {"square", "round"}


def test_saved_results_are_on_paper_and_the_caption_tells_their_signs(season):
    picture = drawn(full_map(season, "team"))
    bare = drawn(full_map(season, "team", drawn=()))
    more = {tag: len(list(picture.iter(tag))) - len(list(bare.iter(tag))) for tag in ("path", "circle", "text")}
    assert more == {"path": 2 * 2 + 2, "circle": 4, "text": 4}  # two cased runs, two plates, four numbered stops
    assert [node.text for node in picture.iter("text")][-4:] == ["2", "1", "3", "1"]
    assert "Saved fence runs are double lines" in picture.find("figcaption").text
    assert "Saved" not in bare.find("figcaption").text


def test_the_caption_says_that_dots_were_put_together(season):
    assert "are one dot" in drawn(season("team", n=3000)).find("figcaption").text
    assert "are one dot" not in drawn(season("team", n=3)).find("figcaption").text
