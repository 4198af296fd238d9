"""
Every page that a command writes, from a season whose every free text is an opening of script.

The texts go in through files, as a stranger's would. Nothing may run, nothing may be requested, and axe-core may find
no fault, on a desk and on a phone.
"""

from contextlib import contextmanager

import pytest
from render.map_pages import violations
from render.test_page_in_browser import ATTACKS
from round_seasons import round_county
from tiny_county import CENTRE, road_layer, road_line

TEXTS = [text.replace("\x00", "").replace("\ud83d", "") for text in ATTACKS]  # no CSV file can hold these two
PAGES = {
    "map_team.html": ["map", "--for", "team", "--as-of", "2025-07-01", "--quick"],
    "map_public.html": ["map", "--for", "public", "--as-of", "2025-07-01", "--quick"],
    "report_team.html": ["report", "--for", "team", "--as-of", "2025-07-01", "--fence-km", "0.5"],
    "report_public.html": ["report", "--for", "public", "--as-of", "2025-07-01", "--fence-km", "0.5"],
    "form.html": ["form"],
    "hotspots.html": ["hotspots", "--draws", "99"],
    "brief.html": ["site", "--fence-km", "0.5", "--draws", "20", "--brief"],
    "signs.html": ["signs"],
    "outcomes.html": ["outcomes", "--as-of", "2025-07-01"],
}


@pytest.fixture
def season(folder):
    """Thirty roads, crossings, nests and searches, and whatever else may carry text, each with an attack in it."""
    main = road_line(TEXTS[1], (-0.05, 0), (0.05, 0), agency=TEXTS[2], route_id=TEXTS[3], speed_limit=45)
    others = [
        road_line(text, (-0.05 + 0.003 * k, 0), (-0.05 + 0.003 * k, 0.01), agency=text) for k, text in enumerate(TEXTS)
    ]
    roads = folder.write("roads.geojson", road_layer(main, *others))
    where = ["--timezone", "America/New_York", "--region", "SC_GA_coastal_plain"]
    assert folder.run("new", folder.season, "--roads", roads, *where).exit_code == 0
    crossings = [
        {
            "record_id": f"r{k} {TEXTS[k % 30]}",
            "observed_at": f"2025-{4 + k // 28:02d}-{1 + k % 28:02d}",
            "longitude": CENTRE[0] + 0.02 + 0.0003 * (k % 8),
            "latitude": CENTRE[1],
            "taxon": "slider",
            "condition": "dead",
            "search_id": f"s{k % 30} {TEXTS[k % 30]}",
            "observer": TEXTS[(k + 1) % 30],
            "notes": TEXTS[(k + 2) % 30],
            "photo": TEXTS[(k + 3) % 30],
            "verified_by": TEXTS[(k + 4) % 30],
        }
        for k in range(40)
    ]
    nests = [
        {
            "nest_id": f"n{k} {text}",
            "found_at": "2025-06-01",
            "laid_on": "2025-06-01",
            "longitude": CENTRE[0] + 0.001,
            "latitude": CENTRE[1] + 0.001 + 0.0001 * k,
            "taxon": "Trachemys scripta",
            "observer": text,
            "notes": text,
            "open_with": text,
        }
        for k, text in enumerate(TEXTS)
    ]
    searches = [
        {
            "search_id": f"s{k} {text}",
            "started_at": f"2025-05-{k + 1:02d}T07:00",
            "method": "car",
            "roads": TEXTS[1],
            "observer": text,
            "notes": text,
        }
        for k, text in enumerate(TEXTS)
    ]
    checks = [
        {"nest_id": f"n{k} {t}", "checked_at": "2025-06-20", "outcome": "intact", "notes": t, "observer": t}
        for k, t in enumerate(TEXTS)
    ]
    people = [{"observer": text, "days": "Mo", "hours_per_day": 2} for text in TEXTS]
    measures = [
        {
            "measure_id": text,
            "kind": "sign",
            "built_on": "2024-05-01",
            "notes": text,
            "longitude": CENTRE[0],
            "latitude": CENTRE[1],
        }
        for text in TEXTS
    ]
    for kind, rows in (
        ("crossings", crossings),
        ("nests", nests),
        ("checks", checks),
        ("people", people),
        ("measures", measures),
    ):
        assert folder.ingest(f"{kind}.csv", rows, "--as", kind).exit_code in {0, 3}
    assert folder.ingest("searches.csv", searches, "--as", "searches").exit_code in {0, 3}
    return folder


@contextmanager
def opened(browser, path, width):
    page, seen = browser.new_page(viewport={"width": width, "height": 844}), []
    page.on("console", lambda message: seen.append(message.text))
    page.on("pageerror", lambda error: seen.append(str(error)))
    page.on("dialog", lambda dialog: (seen.append(dialog.message), dialog.dismiss()))
    page.on(
        "request",
        lambda asked: seen.append(asked.url) if not asked.url.startswith(("file:", "data:", "blob:")) else None,
    )
    page.goto(path.as_uri())
    page.wait_for_timeout(200)
    yield page, seen
    page.close()


def written(season, name):
    verb, *options = PAGES[name]
    path = season.folder / name
    to = [] if options[-1:] == ["--brief"] else ["-o"]
    said = season.run(verb, season.season, *options, *to, path)
    assert said.exit_code == 0, said.output
    return path


def test_no_page_of_any_command_runs_or_asks_for_anything_and_axe_finds_no_fault(season, browser):
    faults = {}
    for name in PAGES:
        path = written(season, name)
        text = path.read_text("utf-8")
        assert "Content-Security-Policy" in text
        assert "unsafe-inline" not in text
        for width in (1280, 390):
            with opened(browser, path, width) as (page, seen):
                assert page.evaluate("window.attacked") is None, name
                assert seen == [], name
                assert page.evaluate("document.documentElement.lang") == "en"
                faults[name, width] = violations(page)
    assert {place: found for place, found in faults.items() if found} == {}


@pytest.mark.parametrize(
    ("name", "args"),
    [
        ("rounds.html", ["rounds", "--from", "2025-07-15", "--to", "2025-08-15", "--per-day", "3"]),
        ("hatch.html", ["hatch", "--as-of", "2025-07-15"]),
    ],
)
def test_pages_of_nests_ask_for_nothing_and_axe_finds_no_fault(county, browser, name, args):
    ready = round_county(county)
    verb, *options = args
    said = ready.run(verb, ready.season, *options, "-o", ready.folder / name)
    assert said.exit_code == 0, said.output
    for width in (1280, 390):
        with opened(browser, ready.folder / name, width) as (page, seen):
            assert seen == []
            assert violations(page) == []
