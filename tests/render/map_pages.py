"""A map page opened in a real browser, and what a reader would see of it."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from axe_playwright_python.sync_playwright import Axe

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import shapely

WCAG = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


class Opened:
    """A page, and everything it asked for or complained about."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.requests: list[str] = []
        self.complaints: list[str] = []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("dialog", lambda dialog: (self.complaints.append("dialog"), dialog.dismiss()))

    def outside(self) -> list[str]:
        return [url for url in self.requests[1:] if not url.startswith(("data:", "blob:"))]


@contextmanager
def opened_map(browser: Any, path: Path, html: str, *, width: int = 1280, height: int = 800) -> Iterator[Opened]:
    """Open a page; at the end it must have asked for nothing and complained of nothing."""
    path.write_text(html, encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": height})
    seen = Opened(page)
    try:
        page.goto(path.as_uri())
        page.wait_for_selector(".leaflet-control-scale-line")
        yield seen
        assert seen.complaints == []
        assert seen.outside() == []
    finally:
        page.close()


def painted(page: Any) -> int:
    """How many dots of the records' canvas carry colour."""
    page.wait_for_function(
        "document.querySelector('canvas.records') && document.querySelector('canvas.records').width > 0"
    )
    settle(page)
    count: int = page.evaluate(
        "(() => { const c = document.querySelector('canvas.records'), copy = document.createElement('canvas');"
        "copy.width = c.width; copy.height = c.height;"
        "const pen = copy.getContext('2d', {willReadFrequently: true}); pen.drawImage(c, 0, 0);"
        "const dots = pen.getImageData(0, 0, c.width, c.height).data;"
        "return dots.filter((value, place) => place % 4 == 3 && value).length })()"
    )
    return count


def settle(page: Any) -> None:
    """Wait until what was asked for has been drawn."""
    page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")


def card_of(page: Any) -> Any:
    """The open card; one that was closed just now may still be fading out before it."""
    return page.locator(".leaflet-popup .card").last


def open_everything(page: Any) -> list[str]:
    """Show every row of every table on the map by its button, and read the card or the panel that opens."""
    texts: list[str] = page.evaluate(
        "Array.from(document.querySelectorAll('[data-show]'), button => { button.click();"
        "const panel = button.dataset.show.startsWith('hotspots-');"
        "return panel ? document.getElementById('panel').textContent"
        " : Array.from(document.querySelectorAll('.leaflet-popup .card')).pop().textContent })"
    )
    return texts


def click_at(page: Any, place: shapely.Point) -> None:
    """Bring a place to the middle of the map without animation, and click there."""
    page.evaluate(f"map_season.setView([{place.y}, {place.x}], 17, {{animate: false}})")
    page.locator(".folium-map").scroll_into_view_if_needed()
    box = page.locator(".folium-map").bounding_box()
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


def choose(page: Any, **wanted: str) -> None:
    """Set the filters as a reader does: lists by their value, the ends of the days by the arrow keys' event."""
    for name, value in wanted.items():
        if name in ("start", "end"):
            control = page.locator("#choose-from" if name == "start" else "#choose-to")
            control.evaluate(
                "(end, value) => { end.value = value; end.dispatchEvent(new Event('input', {bubbles: true})) }", value
            )
        else:
            page.select_option(f"#choose-{name}", value)
    settle(page)


def faded_in(page: Any) -> None:
    """Wait until the card that opens can be seen."""
    page.evaluate(
        "new Promise(done => { const look = () => Number(getComputedStyle("
        "document.querySelector('.leaflet-popup:last-child')).opacity) === 1 "
        "? done() : requestAnimationFrame(look); look() })"
    )


def violations(page: Any) -> list[tuple[str, str]]:
    """
    Faults that axe-core finds; it is brought in by the debugger, past the page's policy.

    WCAG 2.2, 2.5.8 lets pins on a map lie close together, because their places are the matter, and because each has a
    button of full size in a table (its exceptions "essential" and "equivalent", from memory): the size of targets is
    asked of everything but the marks on the map.
    """
    page.evaluate(Axe().axe_script)
    found = page.evaluate(
        "async rules => { const size = {'target-size': {enabled: false}};"
        "const most = await axe.run(document, {runOnly: rules, rules: size});"
        "const rest = {exclude: [['.leaflet-pane']]};"
        "const large = await axe.run(rest, {runOnly: {type: 'rule', values: ['target-size']}});"
        "return most.violations.concat(large.violations) }",
        WCAG,
    )
    return [(one["id"], one["nodes"][0]["html"][:160]) for one in found]
