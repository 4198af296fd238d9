"""The round in the form: read from its file, listed in order, one tap from a check."""

from render.form_pages import CENTRE, opened


def test_todays_round_is_listed_in_order_and_a_tap_opens_the_check(browser, tmp_path):
    rows = [
        "date,nest_id,observer,order,reason,p_emergence_by_next_visit",
        '2026-07-02,"N-2",B,2,"window open, caged",0.41',
        "2026-07-02,N-1,B,1,last seen 5 days ago,0.12",
        "2026-07-02,N-3,C,1,,",
        "2026-07-03,N-4,B,1,,",
    ]
    with opened(browser, tmp_path / "form.html") as phone:
        phone.page.clock.set_fixed_time("2026-07-02T11:00:00Z")
        phone.home(observer="B")
        phone.press("Check a nest")
        body = "\r\n".join(rows).encode()
        phone.page.set_input_files(
            "[data-field=round] input", {"name": "round.csv", "mimeType": "text/csv", "buffer": body}
        )
        phone.page.wait_for_selector("ol.visits")
        entries = phone.page.locator("ol.visits strong").all_inner_texts()
        assert entries == ["1 N-1", "2 N-2"]
        assert "window open, caged · 41 % out by the next visit" in phone.page.inner_text("ol.visits")
        phone.page.select_option("[data-field=who] select", "")
        assert phone.page.locator("ol.visits strong").all_inner_texts() == ["1 N-1", "2 N-2", "1 N-3"]
        phone.page.click("ol.visits .visit >> nth=1")
        phone.choose("outcome", "emerged")
        phone.press("Save")
        phone.screen("saved")
        assert phone.page.evaluate("STATE.records[0].values.nest_id") == "N-2"


def test_a_file_that_is_no_round_is_refused_in_words(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        phone.home()
        phone.press("Check a nest")
        phone.page.set_input_files(
            "[data-field=round] input", {"name": "x.csv", "mimeType": "text/csv", "buffer": b"a,b\n1,2"}
        )
        phone.page.wait_for_selector("text=This file names no nests to check")


def test_a_round_as_json_is_read_too(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        visits = phone.page.evaluate(
            "readRound(JSON.stringify({notes: ['x'], visits: [{date: '2026-07-02', nest_id: 'N-1', observer: 'B',"
            " order: 1, reason: 'r', note: 'n', p_emergence_by_next_visit: null}]}))"
        )
    assert [(one["day"], one["nest"], one["order"], one["reason"]) for one in visits] == [
        ("2026-07-02", "N-1", 1, "r; n")
    ]


def test_a_round_with_places_is_drawn_and_a_tap_on_a_number_opens_that_check(browser, tmp_path):
    rows = [
        "date,nest_id,observer,order,reason,longitude,latitude",
        f"2026-07-02,N-1,B,1,,{CENTRE[0] - 0.01},{CENTRE[1]}",
        f"2026-07-02,N-2,B,2,,{CENTRE[0] + 0.01},{CENTRE[1]}",
        "2026-07-02,N-3,B,3,,,",
    ]
    with opened(browser, tmp_path / "form.html") as phone:
        phone.page.clock.set_fixed_time("2026-07-02T11:00:00Z")
        phone.home(observer="B")
        phone.press("Check a nest")
        body = "\n".join(rows).encode()
        phone.page.set_input_files(
            "[data-field=round] input", {"name": "r.csv", "mimeType": "text/csv", "buffer": body}
        )
        phone.press("Show them on the map")
        box = phone.page.locator("canvas.map").bounding_box()
        # By hand: the two lie 0.02 degree of longitude apart, 1,892 m, in the middle of the height; the view is 1.3
        # times as wide, so that the second stands 1 / 2.6 of the width right of the middle.
        phone.page.mouse.click(box["x"] + box["width"] * (0.5 + 1 / 2.6), box["y"] + box["height"] / 2)
        phone.page.wait_for_selector("text=Another nest")
        assert phone.page.evaluate("STATE.draft.values.nest_id") == "N-2"


def test_a_round_without_places_offers_no_map(browser, tmp_path):
    body = b"date,nest_id,observer,order\n2026-07-02,N-1,B,1"
    with opened(browser, tmp_path / "form.html") as phone:
        phone.home(observer="B")
        phone.press("Check a nest")
        phone.page.set_input_files(
            "[data-field=round] input", {"name": "r.csv", "mimeType": "text/csv", "buffer": body}
        )
        phone.page.wait_for_selector("ol.visits")
        assert phone.page.locator("text=Show them on the map").count() == 0
