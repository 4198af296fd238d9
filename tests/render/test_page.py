import html
import json
import re
import subprocess
import sys
import uuid

import numpy as np
import pytest
import shapely
from render.map_places import places_in
from render.season_maps import full_map

from roadwatch.render.page import season_map


def data_of(page):
    return json.loads(re.search(r'id="season-data">(.*?)</script>', page, flags=re.DOTALL)[1])


def test_equal_content_gives_equal_bytes(season):
    assert season_map(season("team")) == season_map(season("team"))


def test_another_process_with_another_hash_seed_gives_the_same_bytes(season, tmp_path, request):
    code = (
        "import importlib.util, sys, hashlib\n"
        f"spec = importlib.util.spec_from_file_location('made', {str(request.path.parent / 'conftest.py')!r})\n"
        "made = importlib.util.module_from_spec(spec); spec.loader.exec_module(made)\n"
        "from roadwatch.render.page import season_map\n"
        "content = made.content_factory()('public')\n"
        "print(hashlib.sha256(season_map(content).encode()).hexdigest())\n"
    )
    root = str(request.config.rootpath)
    seen = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": root},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(seen) == 1


def test_the_audience_stands_on_the_face_of_the_page(season):
    assert '<p class="audience team">Team only.' in season_map(season("team"))
    assert '<p class="audience public">Public view.' in season_map(season("public"))


def test_cautions_and_notes_are_on_the_page(season):
    page = season_map(season("public"))
    assert "Traffic first." in page
    assert "do not dig" in page
    assert "Search effort is unknown for Heron Lane; its dead are counts, not rates." in page
    assert "no comparison of releases tells of one record" in page


def test_a_public_page_has_no_nest_layer_and_no_secret(season):
    page = season_map(season("public"))
    assert "feature_group_nests" not in page
    for secret in ("A. Warden", "B. Keeper", "near the culvert", "shell on the shoulder", "R00001", "2025-07-20"):
        assert secret not in page


def test_the_source_of_a_public_page_unpacked_tells_no_nest_and_no_masked_animal(season):
    team, public = full_map(season, "team"), full_map(season, "public")
    found = places_in(season_map(public))
    assert found["nests"] == []
    secret = team.places.crossings["taxon"] == "Terrapene carolina"
    hidden = [*team.places.nests.geometry, *team.places.crossings.geometry[secret]]
    told = shapely.points([place for name in ("crossings", "hotspots", "cells", "saved") for place in found[name]])
    exact = shapely.STRtree(told).query(hidden, predicate="dwithin", distance=2e-5)  # two steps of the packing
    assert exact.size == 0
    kept = sorted(shapely.get_coordinates(public.places.crossings.geometry.to_numpy()).round(5).tolist())
    assert sorted(map(list, found["crossings"])) == pytest.approx(np.array(kept), abs=1.1e-5)
    everything = places_in(season_map(team))  # the same reader does find them where they are
    assert len(everything["nests"]) == 6
    assert len(everything["crossings"]) == 120


def test_the_data_is_not_in_the_code(season):
    page = season_map(season("team", text="MARKED"))
    for code in re.findall(r"<script>(.*?)</script>", page, flags=re.DOTALL):
        assert "MARKED" not in code
    assert "MARKED" in json.dumps(data_of(page))


def test_code_is_the_same_for_every_season_so_that_its_hash_can_be_known(season):
    def policy(page):
        return re.search(r'Content-Security-Policy" content="([^"]*)"', page)[1]

    assert policy(season_map(season("team"))) == policy(season_map(season("team", text="other", n=60)))


def test_ten_thousand_records_stay_below_two_megabytes(season):
    page = season_map(season("team", n=10_000))
    assert data_of(page)["crossings"]["n"] == 10_000
    assert len(page.encode()) < 2_000_000


def beyond_libraries(page):
    """Bytes of a page without its scripts and styles, which are the same on every page."""
    code = re.findall(r"<(?:script|style)>.*?</(?:script|style)>", page, flags=re.DOTALL)
    return len(page.encode()) - sum(len(text.encode()) for text in code)


def test_a_thousand_records_with_answers_and_curves_stay_below_400_kilobytes_beyond_the_libraries(season):
    page = season_map(full_map(season, "team", n=1_000))
    assert data_of(page)["crossings"]["n"] == 1_000
    assert len(data_of(page)["answers"][0]["curves"]) == 3
    assert beyond_libraries(page) < 400_000


def test_a_hundred_thousand_records_with_names_of_their_own_stay_below_six_megabytes(season):
    content = season("team", n=100_000)
    rng = np.random.default_rng(11)
    content.places.crossings["record_id"] = [str(uuid.UUID(bytes=rng.bytes(16), version=4)) for _ in range(100_000)]
    west, south, east, north = content.roads.total_bounds
    where = shapely.points(rng.uniform(west, east, 100_000), rng.uniform(south, north, 100_000))
    content.places.crossings["geometry"] = where
    assert len(season_map(content).encode()) < 6_000_000


def test_what_is_said_of_any_answer_stands_on_the_page_once(season):
    content = full_map(season, "public")
    told = [words for answer in content.answers for words in answer.shown.statements]
    page = html.unescape(season_map(content))
    assert told
    assert all(page.count(f"<li>{words}</li>") == 1 for words in told)


def test_a_season_without_anything_can_be_drawn(season):
    content = season("team")
    nothing = {name: getattr(content, name).iloc[:0] for name in ("roads", "water", "protected", "measures")}
    assert data_of(season_map(season("team", n=0, **nothing)))["crossings"]["n"] == 0


@pytest.mark.parametrize("audience", ["team", "public"])
def test_the_page_fetches_nothing(season, audience):
    page = season_map(season(audience))
    outside = re.sub(r"<(script|style)>.*?</\1>", "", page, flags=re.DOTALL)
    assert not re.search(r'\b(?:src|srcset|action|background)=|href="(?!#)', outside)
    assert "http" not in re.sub(r'http-equiv="Content-Security-Policy"', "", outside)
