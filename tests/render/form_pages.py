"""The field form of an invented county, opened as a volunteer's phone would open it."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import shapely

from roadwatch.identify.tables import identify_tables
from roadwatch.render.form import FormContent, field_form
from roadwatch.render.form_tables import identification_data

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

REGION = "SC_GA_coastal_plain"
CENTRE = (-81.9, 31.7)
WAITING = "document.querySelector('main[data-screen] h1')"


def invented_roads(text: str = "") -> gpd.GeoDataFrame:
    """Two invented roads that cross, 9.5 km and 11 km long, and one without a name."""
    x, y = CENTRE
    lines = [
        shapely.LineString([(x - 0.05, y), (x, y), (x + 0.05, y)]),
        shapely.LineString([(x, y - 0.05), (x, y + 0.05)]),
        shapely.LineString([(x + 0.01, y), (x + 0.01, y + 0.02)]),
    ]
    names = ["Invented East Road" + text, "Invented North Road" + text, None]
    return gpd.GeoDataFrame({"road": names}, geometry=lines, crs="EPSG:4326")


def invented_water() -> gpd.GeoDataFrame:
    pond = shapely.Point(CENTRE[0] + 0.02, CENTRE[1] + 0.02).buffer(0.005)
    creek = shapely.LineString([(CENTRE[0] - 0.03, CENTRE[1] + 0.03), (CENTRE[0] + 0.02, CENTRE[1] + 0.02)])
    return gpd.GeoDataFrame({"name": ["Invented Pond", "Invented Creek"]}, geometry=[pond, creek], crs="EPSG:4326")


def form_html(**changes: Any) -> str:
    parts = {
        "title": "Turtle records",
        "roads": invented_roads(),
        "water": invented_water(),
        "identification": identification_data(identify_tables(), region=REGION),
    }
    return field_form(FormContent(**{**parts, **changes}))


class Phone:
    """An open form, with all that it asked for or complained about."""

    def __init__(self, page: Any) -> None:
        self.page, self.requests, self.complaints = page, [], []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("dialog", lambda dialog: (self.complaints.append("dialog"), dialog.dismiss()))

    def open(self, path: Path) -> Phone:
        self.page.goto(path.as_uri())
        self.page.wait_for_selector("main[data-screen=start] h1")
        return self

    def screen(self, name: str) -> None:
        self.page.wait_for_selector(f"main[data-screen={name}]")

    def press(self, text: str) -> None:
        self.page.locator("main").get_by_role("button", name=text, exact=True).first.click()

    def choose(self, field: str, value: str) -> None:
        self.page.click(f"[data-field={field}] label:has(input[value='{value}'])")

    def home(self, observer: str = "Invented Walker") -> None:
        self.page.click(".traffic button")
        if self.page.locator("main").get_attribute("data-screen") == "who":
            self.page.fill("[data-field=observer] input", observer)
            self.press("Go on")
        self.screen("home")

    def placed(self) -> None:
        self.page.wait_for_selector("[data-screen] .reading strong")

    def outside(self) -> list[str]:
        return [url for url in self.requests if url != self.requests[0] and not url.startswith(("data:", "blob:"))]


def phone_settings(**changes: Any) -> dict[str, Any]:
    settings = {
        "viewport": {"width": 390, "height": 844},
        "geolocation": {"longitude": CENTRE[0] + 0.012345, "latitude": CENTRE[1], "accuracy": 6.4},
        "permissions": ["geolocation"],
        "timezone_id": "America/New_York",
        "locale": "en-US",
    }
    return settings | changes


@contextmanager
def opened(browser: Any, path: Path, html: str | None = None, **changes: Any) -> Iterator[Phone]:
    """The form in a fresh browser profile; afterwards nothing may have been asked for or complained about."""
    path.write_text(html or form_html(), encoding="utf-8")
    context = browser.new_context(**phone_settings(**changes))
    try:
        phone = Phone(context.new_page()).open(path)
        yield phone
        assert phone.complaints == []
        assert phone.outside() == []
    finally:
        context.close()


def walk(context: Any, page: Any, *, n: int = 12, step: float = 0.0003) -> None:
    """Carry the phone east along the invented road, about 28 m a step: much faster would be a jump."""
    for k in range(n):
        context.set_geolocation({"longitude": CENTRE[0] + k * step, "latitude": CENTRE[1], "accuracy": 5})
        page.wait_for_timeout(120)


def random_animals(n: int, *, seed: int) -> list[dict[str, Any]]:
    """Animals looked at by chance: views, skills, ages, doubts, things not there and not seen."""
    rng = np.random.default_rng(seed)
    tables = identify_tables()
    return [_animal(rng, tables) for _ in range(n)]


def _animal(rng: np.random.Generator, tables: Any) -> dict[str, Any]:
    view = str(rng.choice(["in_hand", "from_above", "from_car", "carcass"]))
    able = [c for c in tables.characters.values() if c.can_show(view, head_present=True)]
    chosen = rng.choice(len(able), size=int(rng.integers(0, 9)), replace=False)
    return {
        "seen": {able[k].key: _answer(able[k], rng) for k in chosen},
        "view": view,
        "skill": str(rng.choice(["novice", "trained", "expert"])),
        "lifeStage": [None, "adult", "juvenile", "hatchling"][int(rng.integers(4))],
        "head": bool(rng.random() < 0.5),
        "month": [None, *range(1, 13)][int(rng.integers(13))],
        "mm": float(rng.integers(25, 400)) if rng.random() < 0.25 else None,
    }


def _answer(character: Any, rng: np.random.Generator) -> str:
    keys = [state.key for state in character.states]
    kind = rng.random()
    if kind < 0.1:
        return "not_seen"
    if kind < 0.2 and any(state.absent for state in character.states):
        return "looked_absent"
    n_states = int(rng.integers(2, len(keys) + 1)) if kind < 0.4 else 1
    return "|".join(str(key) for key in rng.choice(keys, size=n_states, replace=False))
