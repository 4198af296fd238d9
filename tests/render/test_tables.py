import re
from html.parser import HTMLParser

from roadwatch.render.tables import cell_table, hotspot_table, nest_table


class Cells(HTMLParser):
    """Rows of cell texts, read by the standard library's parser."""

    def __init__(self, text):
        super().__init__()
        self.rows, self.inside, self.tags = [], False, []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
            self.inside = True

    def handle_endtag(self, tag):
        if tag in ("td", "th"):
            self.inside = False

    def handle_data(self, data):
        if self.inside:
            self.rows[-1][-1] += data


def test_hotspots_stand_in_order_with_their_doubt(season):
    rows = Cells(str(hotspot_table(season("team").hotspots.table))).rows
    assert rows[0][:6] == ["Hotspot", "Length, m", "Dead", "Expected", "Times the expected", "Chance alone (p)"]
    assert rows[1][:6] == [
        "1: County Road 12, 12540 to 14080 m",
        "1540",
        "24.3",
        "3.1",
        "7.6 (95 % interval 4.9 to 11.2)",
        "0.001",
    ]
    assert rows[3][6:8] == ["dead in 1 year", "unknown: counts, not rates"]


def test_every_row_has_a_button_that_names_what_it_shows(season):
    cells = Cells(str(nest_table(season("team").places.nests)))
    buttons = [attrs for tag, attrs in cells.tags if tag == "button"]
    assert [button["data-show"] for button in buttons] == [f"nests-{row}" for row in range(6)]
    assert buttons[4]["aria-label"] == "Show N4 on the map"


def test_nests_show_their_window_and_its_sureness(season):
    rows = Cells(str(nest_table(season("team").places.nests))).rows
    assert rows[1] == [
        "N0",
        "Trachemys scripta",
        "2025-07-20",
        "2025-07-28",
        "2025-08-06",
        "open",
        "55 %",
        "medium",
        "",
        "Show",
    ]
    assert rows[6][2:6] == ["", "", "", "none"]


def test_columns_that_are_blank_throughout_are_left_out(season):
    table = season("team").hotspots.table.assign(milepost_from=None)
    assert "Mileposts" not in Cells(str(hotspot_table(table))).rows[0]


def test_heads_are_marked_for_screen_readers(season):
    cells = Cells(str(hotspot_table(season("team").hotspots.table)))
    scopes = [attrs.get("scope") for tag, attrs in cells.tags if tag == "th"]
    assert set(scopes) == {"col", "row"}


def test_the_public_table_counts_squares(season):
    rows = Cells(str(cell_table(season("public").places.cells))).rows
    assert rows[1] == ["Square 1", "nests", "6", "June to September", "Show"]


def test_an_empty_table_says_so_instead_of_showing_nothing(season):
    content = season("team")
    assert "none was found, or too few records may be shown" in hotspot_table(content.hotspots.table.iloc[:0])
    assert "No nest is on record." in nest_table(content.places.nests.iloc[:0])
    assert "No square holds enough records" in cell_table(content.places.cells)


def test_a_stranger_s_text_cannot_leave_its_cell(season):
    attack = '</td></table><script>alert(1)</script>" onclick="alert(1)'
    table = str(nest_table(season("team", text=attack).places.nests))
    assert "<script" not in table
    assert not re.search(r'"\s*onclick', table)
    assert Cells(table).rows[1][0] == "N0" + attack
