import base64
import hashlib
from importlib.resources import files

import pytest

from roadwatch.errors import RoadwatchError
from roadwatch.render import vendored
from roadwatch.render.offline_figure import FIRST_SCRIPT, SCRIPTS
from roadwatch.render.vendored import PUBLISHED_SHA256, leaflet_script, leaflet_style, own_text, vendored_bytes

# The integrity values that Leaflet's download page publishes for 1.9.4 (from memory; the bytes were taken from npm).
PUBLISHED_INTEGRITY = {
    "leaflet.js": "20nQCchB9co0qIjJZRGuk2/Z9VM+kNiyxNV1lvTlZBo=",
    "leaflet.css": "p4NxAoJBhIIN+hmNHrzRCf9tD/miZyoHS5obTRR9BMY=",
}


@pytest.mark.parametrize("name", PUBLISHED_SHA256)
def test_the_library_in_the_package_is_the_published_one(name):
    content = (files("roadwatch") / "render" / "assets" / name).read_bytes()
    assert hashlib.sha256(content).hexdigest() == PUBLISHED_SHA256[name]


@pytest.mark.parametrize("name", PUBLISHED_INTEGRITY)
def test_its_hash_is_the_one_its_makers_publish(name):
    assert base64.b64encode(bytes.fromhex(PUBLISHED_SHA256[name])).decode() == PUBLISHED_INTEGRITY[name]


def test_a_changed_library_is_not_used(monkeypatch):
    monkeypatch.setitem(vendored.PUBLISHED_SHA256, "leaflet.js", "0" * 64)
    vendored_bytes.cache_clear()
    with pytest.raises(
        RoadwatchError, match=r"leaflet\.js inside the package has SHA-256 db49d.*install roadwatch again"
    ):
        vendored_bytes("leaflet.js")


def test_no_asset_asks_for_another_file():
    assert "sourceMappingURL" not in leaflet_script()
    style = leaflet_style() + own_text("page.css")
    addresses = [part.split(")")[0] for part in style.split("url(")[1:]]
    assert len(addresses) == 4  # three pictures, and the VML behaviour of a browser that is gone
    assert all(address.startswith(("data:image/png;base64,", "#default")) for address in addresses)
    assert "@import" not in style


def test_no_asset_can_end_its_element_or_change_under_a_browser_s_line_ends():
    texts = [leaflet_script(), leaflet_style(), *map(own_text, ("page.css", "record_layer.js", "season_map.js"))]
    for text in texts:
        assert "</script" not in text.lower()
        assert "</style" not in text.lower()
        assert "\r" not in text  # browsers hash a script after turning CR LF into LF


def test_our_own_code_writes_text_only_as_text():
    for name in (FIRST_SCRIPT, *SCRIPTS):
        for way in (
            "innerHTML",
            "outerHTML",
            "insertAdjacentHTML",
            "document.write",
            "eval(",
            "new Function",
            "fetch(",
        ):
            assert way not in own_text(name)


def test_the_library_s_licence_travels_with_it():
    licence = (files("roadwatch") / "licences" / "leaflet.txt").read_text("utf-8")
    assert "BSD 2-Clause License" in licence
    assert "Volodymyr Agafonkin" in licence
