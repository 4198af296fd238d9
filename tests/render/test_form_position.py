"""Where a record lies: from the phone, the map or pasted coordinates; and the way of a search."""

import pytest
from render.form_pages import CENTRE, opened


def test_a_refused_position_is_said_and_the_map_and_pasted_coordinates_stand_in(browser, tmp_path):
    with opened(browser, tmp_path / "form.html", permissions=[]) as phone:
        phone.home()
        phone.press("Turtle on the road")
        phone.page.wait_for_selector("text=The phone refused its position to this page")
        phone.choose("condition", "alive")
        phone.press("Save")
        assert "No place yet" in phone.page.inner_text(".refusal")
        phone.press("Paste coordinates")
        phone.page.fill("[data-field=pasted] input", "29.1, -82.2")
        phone.press("Use these")
        assert "not two decimal degrees near this county" in phone.page.inner_text("main")
        phone.page.fill("[data-field=pasted] input", "31.70500 N, 81.90023 W")
        phone.press("Use these")
        assert phone.page.inner_text(".reading strong") == "31.70500, -81.90023"
        assert "error not known; taken as 30 m" in phone.page.inner_text(".reading")
        phone.press("Mark on the map")
        box = phone.page.locator("canvas").bounding_box()
        phone.page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        values = phone.page.evaluate("STATE.draft.values")
        assert values["longitude"] == pytest.approx(-81.90023, abs=2e-5)
        assert values["latitude"] == pytest.approx(31.705, abs=2e-5)
        assert values["position_error_m"] >= 10


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("31.70012, -81.90023", (31.70012, -81.90023)),
        ("31.70012 -81.90023", (31.70012, -81.90023)),
        ("-81.90023, 31.70012", (31.70012, -81.90023)),
        ("N 31.70012° W 81.90023°", (31.70012, -81.90023)),
        ("81.90023 W; 31.70012 N", (31.70012, -81.90023)),
        ("31.70012", None),
        ("0, 0", None),
        ("31.70012, 81.90023", None),
        ("", None),
    ],
)
def test_pasted_coordinates_are_read_by_where_the_county_lies(browser, tmp_path, text, place):
    with opened(browser, tmp_path / "form.html") as phone:
        found = phone.page.evaluate("readPlace", text)
    assert (None if found is None else (found["latitude"], found["longitude"])) == place


def test_the_map_marks_its_middle_by_the_keyboard(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        phone.home()
        phone.press("Nest")
        phone.placed()
        phone.press("Mark on the map")
        before = phone.page.evaluate("STATE.draft.values.longitude")
        phone.page.keyboard.press("ArrowRight")
        phone.page.keyboard.press("Enter")
        assert phone.page.evaluate("STATE.draft.values.longitude") > before


def test_a_dark_page_cuts_the_track_instead_of_inventing_the_way_between(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        told = phone.page.evaluate(
            "(() => { const fix = (x, at, m = 5) => ({longitude: x, latitude: 31.7, position_error_m: m, at});"
            "let parts = [];"
            "const fixes = [[-81.900, 0], [-81.899, 30e3], [-81.880, 600e3], [-81.879, 630e3], [-81.5, 640e3, 900]];"
            "for (const [x, at, m] of fixes) parts = addFix(parts, fix(x, at, m));"
            "return {text: trackText(parts), km: trackKm(parts)} })()"
        )
    assert told["text"] == "MULTILINESTRING ((-81.9 31.7, -81.899 31.7), (-81.88 31.7, -81.879 31.7))"
    # By hand: two steps of 0.001 degree, 111,195 m a degree, narrowed by cos 31.7 = 0.850811.
    assert told["km"] == pytest.approx(2 * 0.001 * 111.195 * 0.850811, abs=1e-4)


@pytest.mark.parametrize(
    ("fixes", "thousandths"),
    [
        # 9.4 km in four seconds are a slip; 378 m in ten, 136 km/h, are not.
        ([(-81.900, 0), (-81.899, 4), (-81.800, 8), (-81.898, 12), (-81.894, 22)], 6),
        # The first fix is an old one from elsewhere: the way begins with the second.
        ([(-81.800, 0), (-81.900, 4), (-81.899, 8), (-81.898, 12)], 2),
    ],
)
def test_a_jump_of_the_receiver_is_no_part_of_the_way(browser, tmp_path, fixes, thousandths):
    with opened(browser, tmp_path / "form.html") as phone:
        told = phone.page.evaluate(
            "(fixes) => { let parts = [];"
            "for (const [x, s] of fixes)"
            " parts = addFix(parts, {longitude: x, latitude: 31.7, position_error_m: 5, at: 1000 * s});"
            "return trackKm(parts) }",
            fixes,
        )
    # By hand: 0.001 degree of longitude is 111.195 m narrowed by cos 31.7 = 0.850811.
    assert told == pytest.approx(thousandths * 0.001 * 111.195 * 0.850811, abs=1e-4)


def test_a_long_track_fits_into_a_cell_of_a_workbook(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        text = phone.page.evaluate(
            "(() => { const part = []; for (let k = 0; k < 20000; k += 1)"
            " part.push([-81.9 + k * 1e-4, 31.7 + 4e-3 * Math.sin(k / 50), k]); return trackText([part]) })()"
        )
    assert 100 < len(text) <= 30_000  # ECMA-376: 32,767 signs in a cell


def test_the_nearest_road_is_named(browser, tmp_path):
    # By hand: 0.001 degree of latitude is 111 m on the mean sphere.
    with opened(browser, tmp_path / "form.html") as phone:
        found = phone.page.evaluate(f"nearestRoad({{longitude: {CENTRE[0] - 0.03}, latitude: {CENTRE[1] + 0.001}}})")
    assert found["name"] == "Invented East Road"
    assert found["away"] == pytest.approx(111.2, abs=0.5)
