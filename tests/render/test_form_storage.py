"""What the browser keeps of the form, what it has lost, and that the page says so."""

import re

from render.form_pages import form_html, opened, walk


def test_a_name_for_a_record_is_a_uuid_where_the_page_is_no_secure_context_too(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        names = phone.page.evaluate(
            "(() => { crypto.randomUUID = undefined; return Array.from({length: 200}, newId) })()"
        )
    pattern = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
    assert all(pattern.fullmatch(name) for name in names)
    assert len(set(names)) == 200


def test_a_browser_that_keeps_nothing_is_told_from_one_that_does(browser, tmp_path):
    path = tmp_path / "form.html"
    path.write_text(form_html(), encoding="utf-8")
    page = browser.new_page()
    page.add_init_script("indexedDB.open = () => { throw new Error('refused') }")
    page.goto(path.as_uri())
    page.wait_for_selector("main[data-screen=start]")
    page.click(".traffic button")
    page.get_by_role("button", name="Go on").click()
    assert "all is lost when the page closes" in page.inner_text(".trust")
    page.close()


def test_records_that_an_earlier_opening_left_and_are_gone_are_missed(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        phone.page.evaluate(
            "(STATE.store.base.close(), new Promise(done => { const gone = indexedDB.deleteDatabase(STATE.store.name);"
            "gone.onsuccess = gone.onblocked = () => done() }))"
        )
        phone.page.reload()
        phone.page.wait_for_selector("main[data-screen=start]")
        phone.home()
        assert "has forgotten what an earlier opening wrote" in phone.page.inner_text(".trust")


def test_saved_records_can_be_cleared_and_only_those(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        page = phone.page
        phone.home()
        for again in (False, True):
            phone.press("Turtle on the road")
            phone.placed()
            phone.choose("condition", "dead")
            phone.press("Save")
            phone.screen("saved")
            if not again:
                with page.expect_download():
                    page.get_by_role("button", name=re.compile("Save new records")).click()
                page.wait_for_selector("#exported strong")
                phone.press("Back")
            else:
                phone.press("Next")
        page.get_by_role("button", name=re.compile("Records on this phone")).click()
        page.get_by_role("button", name=re.compile("Clear the saved records")).click()
        page.get_by_role("button", name=re.compile("Yes, clear them")).click()
        page.wait_for_selector("text=Kept: 1; not yet saved as a file: 1.")
        assert page.evaluate("STATE.records.map(one => one.exported_at)") == [""]


def test_an_unsaved_record_can_be_opened_again_and_keeps_its_name(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        phone.home()
        phone.press("Turtle on the road")
        phone.placed()
        phone.choose("condition", "dead")
        phone.press("Save")
        phone.screen("saved")
        name = phone.page.evaluate("STATE.records[0].id")
        phone.press("Next")
        phone.page.get_by_role("button", name=re.compile("Records on this phone")).click()
        phone.press("Change")
        phone.choose("condition", "injured")
        phone.press("Save")
        phone.screen("saved")
        assert phone.page.evaluate("STATE.records.map(one => [one.id, one.values.condition])") == [[name, "injured"]]


def test_a_running_search_goes_on_after_the_page_was_closed(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        phone.home()
        phone.press("Search a road")
        phone.press("Start the search")
        walk(phone.page.context, phone.page, n=5)
        n_fixes = phone.page.evaluate("STATE.search.parts.flat().length")
        assert n_fixes >= 2
        phone.page.reload()
        phone.page.wait_for_selector("main[data-screen=start]")
        phone.home()
        phone.page.get_by_role("button", name=re.compile("Search running since")).click()
        assert phone.page.evaluate("STATE.search.parts.flat().length") >= n_fixes


def test_a_search_is_not_stopped_over_a_record_that_was_begun(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        phone.home()
        phone.press("Search a road")
        phone.press("Start the search")
        phone.press("A turtle")
        phone.placed()
        begun = phone.page.evaluate("STATE.draft.id")
        phone.press("Leave it for now")
        phone.press("Back")
        phone.page.get_by_role("button", name=re.compile("Search running since")).click()
        phone.press("Stop the search")
        phone.screen("unfinished")
        assert phone.page.evaluate("[STATE.draft.id, STATE.draft.kind, STATE.search !== null]") == [
            begun,
            "crossings",
            True,
        ]
