"""What a volunteer records in a real browser is saved as a file that ingest takes as it is."""

import json
import re
import zipfile

import openpyxl
import pandas as pd
import pytest
from render.form_pages import CENTRE, Phone, opened, phone_settings, walk

from roadwatch.records.store import Season

UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")  # RFC 9562, version 4
ODD_NOTE = "=1+2 @home, \"quoted\"; <b>bold</b> & 'so'\nsecond line ñ 🐢 _x0041_"


def form_of(county):
    path = county.folder / "form.html"
    result = county.run("form", county.season, "-o", path)
    assert result.exit_code == 0, result.output
    return path.read_text("utf-8")


def record_crossing(phone, *, condition="alive", note=ODD_NOTE):
    phone.placed()
    phone.choose("condition", condition)
    phone.page.select_option("[data-field=taxon] select", "Chelydra serpentina")
    phone.choose("id_confidence", "likely")
    phone.page.click("summary")
    phone.choose("heading_deg", "90")
    phone.page.fill("[data-field=notes] textarea", note)
    phone.page.set_input_files(
        "[data-field=photo] input", {"name": "IMG 0042.jpg", "mimeType": "image/jpeg", "buffer": b""}
    )


def look_at_marks(phone, *, view, answers):
    """Answer what is asked with the named state, with 'cannot see' where it is not among them."""
    phone.page.click(".marks button")
    phone.screen("identify")
    phone.press(view)
    phone.press("adult")
    for _ in range(12):
        asked = phone.page.locator("[data-character]")
        if asked.count() == 0:
            break
        key = asked.get_attribute("data-character")
        if key in answers:
            phone.page.click(f"[data-state={answers[key]}]")
        else:
            phone.press("Cannot see it")
    phone.press("Enough, back to the record")


def record_everything(phone, context):
    """A search with a track and a crossing in it, one that finds nothing, a nest, a check of it, a chance find."""
    context.set_geolocation({"longitude": CENTRE[0], "latitude": CENTRE[1], "accuracy": 5})
    phone.press("Search a road")
    phone.press("Start the search")
    walk(context, phone.page)
    phone.press("A turtle")
    record_crossing(phone)
    look_at_marks(phone, view="from above, not touched", answers={"tail": "long_saw_toothed", "neck": "ordinary"})
    phone.press("Save")
    phone.screen("saved")
    phone.press("Back to the search")
    phone.press("Stop the search")
    phone.press("Save")
    phone.screen("saved")
    phone.press("Next")
    phone.press("Search a road")
    phone.press("Start the search")
    phone.press("Stop the search")
    phone.choose("found_none", "yes")
    phone.page.select_option("[data-field=road] select", "Invented North Road")
    phone.press("Save")
    phone.screen("saved")
    phone.press("Next")
    phone.press("Nest")
    phone.placed()
    phone.choose("saw_laying", "yes")
    phone.choose("exposure", "partial")
    phone.press("Save")
    phone.screen("saved")
    phone.press("Next")
    phone.press("Check a nest")
    phone.page.click(".visits .visit")
    phone.choose("outcome", "intact")
    phone.press("Save")
    phone.screen("saved")
    phone.press("Next")
    phone.press("Turtle on the road")
    phone.placed()
    phone.choose("condition", "dead")
    phone.press("Save")
    phone.screen("saved")
    phone.press("Next")


def export(phone, path, button=re.compile("Save new records")):
    phone.page.locator("main").get_by_role("button", name=re.compile("Records on this phone")).click()
    with phone.page.expect_download() as download:
        phone.page.get_by_role("button", name=button).click()
    download.value.save_as(path)
    phone.page.wait_for_selector("#exported strong")
    return path


@pytest.fixture
def exported(browser, county, tmp_path):
    """The file that the form saved, and what the form itself holds."""
    with opened(browser, tmp_path / "form.html", form_of(county)) as phone:
        phone.home()
        record_everything(phone, phone.page.context)
        path = export(phone, county.folder / "records.xlsx")
        held = phone.page.evaluate("STATE.records")
    return path, held


def rows(county, kind):
    return Season.open(county.season).read(kind)


def test_the_file_goes_in_with_nothing_held_back_and_arrives_unchanged(county, exported):
    path, held = exported
    told = county.json("ingest", county.season, path)
    files = told["files"]
    assert {one["kind"]: one["accepted"] for one in files} == {"nests": 1, "searches": 2, "crossings": 2, "checks": 1}
    assert [one["held_back"] for one in files] == [0, 0, 0, 0]
    assert Season.open(county.season).held_back().empty
    for kind in ("nests", "searches", "crossings", "checks"):
        stored = json.loads(rows(county, kind).drop(columns="geometry", errors="ignore").to_json(orient="records"))
        mine = [record for record in held if record["kind"] == kind]
        assert len(stored) == len(mine)
        for record in mine:
            assert any(all(same(row, name, value) for name, value in record["values"].items()) for row in stored), (
                record
            )


def same(row, name, value):
    found = row[name]
    if name == "id_confidence":
        return found == {"certain": 0.95, "likely": 0.8, "unsure": 0.5}[value]
    if name in {"found_none", "gravid"}:
        return found is (value == "yes")
    return found == pytest.approx(value) if isinstance(value, int | float) else found == value


def test_records_carry_uuids_and_a_crossing_carries_its_search(county, exported):
    path, _ = exported
    county.json("ingest", county.season, path)
    crossings, searches = rows(county, "crossings"), rows(county, "searches")
    ids = [*crossings["record_id"], *searches["search_id"], *rows(county, "nests")["nest_id"]]
    assert len(set(ids)) == 5
    assert all(UUID.fullmatch(one) for one in ids)
    during = crossings[crossings["condition"] == "alive"]["search_id"].tolist()
    assert during == searches[~searches["found_none"].astype(bool)]["search_id"].tolist()
    assert crossings[crossings["condition"] == "dead"]["search_id"].isna().all()
    assert rows(county, "checks")["nest_id"].tolist() == rows(county, "nests")["nest_id"].tolist()


def test_the_marks_are_stored_as_seen_columns_beside_the_observers_own_name(county, exported):
    path, held = exported
    county.json("ingest", county.season, path)
    crossing = rows(county, "crossings").set_index("condition").loc["alive"]
    marks = {name: crossing[name] for name in crossing.index if name.startswith("seen_") and pd.notna(crossing[name])}
    expected = next(record["seen"] for record in held if record["seen"])
    assert marks == {f"seen_{key}": value for key, value in expected.items()}
    assert marks["seen_tail"] == "long_saw_toothed"
    assert (crossing["taxon"], crossing["view"], crossing["life_stage"]) == (
        "Chelydra serpentina",
        "from_above",
        "adult",
    )
    assert crossing["notes"] == ODD_NOTE
    assert crossing["photo"] == "IMG 0042.jpg"


def test_a_track_is_kept_with_its_kilometres(county, exported):
    path, _ = exported
    county.json("ingest", county.season, path)
    searches = rows(county, "searches").set_index("roads", drop=False)
    blank = searches.loc["Invented North Road"]
    track = searches[searches["roads"].isna()].iloc[0]
    # By hand: at most 11 steps of 0.001 degree along 31.7 north, a degree of the mean sphere being 111.195 km.
    longest = 11 * 0.001 * 111.195 * 0.85081
    assert 0.3 < track["distance_km"] <= longest + 0.002
    assert track["track"].startswith("LINESTRING (-81.9 31.7, ")
    assert blank["track"] is None
    assert blank["found_none"] is True


def test_a_second_export_adds_nothing(browser, county, tmp_path):
    with opened(browser, tmp_path / "form.html", form_of(county)) as phone:
        phone.home()
        record_everything(phone, phone.page.context)
        first = export(phone, county.folder / "first.xlsx")
        assert phone.page.locator(".records .saved").count() == 6
        assert phone.page.locator(".records .unsaved").count() == 0
        phone.press("Back")
        second = export(phone, county.folder / "second.xlsx", re.compile("Save all again"))
    assert sum(one["accepted"] for one in county.json("ingest", county.season, first)["files"]) == 6
    again = county.json("ingest", county.season, second)["files"]
    assert [one["accepted"] for one in again] == [0, 0, 0, 0]
    assert [one["held_back"] for one in again] == [0, 0, 0, 0]


def test_texts_in_the_workbook_are_texts_to_an_independent_reader(exported):
    path, _ = exported
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None  # checks every CRC-32
    book = openpyxl.load_workbook(path)
    assert book.sheetnames == ["nests", "searches", "crossings", "checks"]
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert not [cell for cell in cells if cell.data_type == "f"]
    notes = [cell.value for cell in cells if isinstance(cell.value, str) and cell.value.startswith("=1+2")]
    assert [note.replace("_x005F_", "_") for note in notes] == [ODD_NOTE]  # ECMA-376 22.9.2.19, which it leaves coded


def test_the_same_rows_as_text_are_taken_too(browser, county, tmp_path):
    with opened(browser, tmp_path / "form.html", form_of(county)) as phone:
        phone.home()
        phone.press("Turtle on the road")
        record_crossing(phone)
        phone.press("Save")
        phone.screen("saved")
        text = phone.page.evaluate("csvText(STATE.records, 'crossings')")
    told = county.json("ingest", county.season, county.write("message.csv", text))
    assert [(one["accepted"], one["held_back"]) for one in told["files"]] == [(1, 0)]
    assert rows(county, "crossings")["notes"].tolist() == [ODD_NOTE]
    assert rows(county, "crossings")["longitude"].tolist() == [pytest.approx(CENTRE[0] + 0.012345)]


def test_records_survive_a_closed_browser(browser, chromium_path, county, tmp_path):
    path = tmp_path / "form.html"
    path.write_text(form_of(county), encoding="utf-8")

    def profile():
        return browser.browser_type.launch_persistent_context(
            str(tmp_path / "profile"), executable_path=chromium_path, args=["--no-sandbox"], **phone_settings()
        )

    context = profile()
    phone = Phone(context.new_page()).open(path)
    phone.home()
    assert "Not shown yet that this browser keeps records" in phone.page.inner_text(".trust")
    phone.press("Turtle on the road")
    record_crossing(phone)
    phone.press("Save")
    phone.screen("saved")
    kept = phone.page.evaluate("STATE.records[0].values")
    phone.press("Next")
    phone.press("Nest")
    phone.placed()
    phone.choose("exposure", "open")
    assert phone.page.evaluate("STATE.store.setting('draft')")["values"]["exposure"] == "open"
    context.close()

    context = profile()
    phone = Phone(context.new_page()).open(path)
    phone.home()
    assert phone.page.evaluate("STATE.records[0].values") == kept
    assert "This browser kept what an earlier opening wrote" in phone.page.inner_text(".trust")
    phone.press("A record is not finished")
    phone.press("Go on with it")
    assert phone.page.is_checked("[data-field=exposure] input[value=open]")
    assert phone.complaints == []
    context.close()
