"""Whole workbooks against openpyxl, a reader independent of the one that reads them here."""

import io
import zipfile
from datetime import date, datetime, time, timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900

from roadwatch.records.readers import read_file

SECONDS = st.datetimes(min_value=datetime(1990, 1, 1), max_value=datetime(2099, 12, 31)).map(  # noqa: DTZ001  # sheets have no zone
    lambda moment: moment.replace(microsecond=0)
)
WORDS = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), min_size=1, max_size=12).filter(
    lambda text: text.strip() and not text.strip().startswith(("=", "#"))
)
CELLS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(2**53), 2**53),
    st.floats(-(2**53), 2**53, width=32),
    SECONDS,
    SECONDS.map(lambda moment: moment.replace(hour=0, minute=0, second=0)),
    SECONDS.map(lambda moment: moment.date()),
    st.times().map(lambda moment: moment.replace(microsecond=0)),
    WORDS,
)
FORMATS = st.sampled_from([None, None, "m/d/yy", "m/d/yy h:mm", "yyyy-mm-dd hh:mm:ss", "d mmmm yyyy", "h:mm AM/PM"])
ROWS = st.lists(st.lists(st.tuples(CELLS, FORMATS), min_size=3, max_size=3), min_size=1, max_size=6)


def written(rows, *, epoch, left, top):
    """A workbook whose table begins at some column and row, with a number format for each date."""
    book = Workbook()
    book.epoch = epoch
    table = [[("found on", None), ("n", None), ("what", None)], *rows]
    for down, row in enumerate(table):
        for right, (value, number_format) in enumerate(row):
            cell = book.active.cell(top + down, left + right, value)
            if number_format and isinstance(value, date):
                cell.number_format = number_format
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def by_openpyxl(body):
    """Number and cells of each filled row under the header, as text after the types and formats openpyxl tells."""
    sheet = load_workbook(io.BytesIO(body), data_only=True).active
    rows = [(row[0].row, [as_text(cell) for cell in row]) for row in sheet.iter_rows(min_row=sheet.min_row + 1)]
    return [(number, cells) for number, cells in rows if any(cells)]


def as_text(cell):
    value = cell.value
    if isinstance(value, datetime):
        value = (value + timedelta(seconds=0.5)).replace(microsecond=0)
        is_day = value.time() == time() and "h" not in cell.number_format.lower()
        return value.date().isoformat() if is_day else value.isoformat()
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return str(int(value)) if value == int(value) and abs(value) <= 2**53 else repr(value)
    if isinstance(value, time):
        return value.replace(microsecond=0).isoformat()
    return None if value is None else str(value).strip() or None


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=ROWS,
    epoch=st.sampled_from([CALENDAR_WINDOWS_1900, CALENDAR_MAC_1904]),
    left=st.integers(1, 4),
    top=st.integers(1, 4),
)
def test_cells_of_every_type_in_both_calendars_are_those_that_openpyxl_reads(make_file, rows, epoch, left, top):
    body = written(rows, epoch=epoch, left=left, top=top)
    expected = by_openpyxl(body)
    if not expected:
        return
    (table,) = read_file(make_file("book.xlsx", body))
    if any("by the workbook's own calendar" in note for note in table.notes):
        return  # plain numbers read as days: a rule of ours, tested beside it
    found = {name: table.rows.get(name, [None] * len(expected)) for name in ("found on", "n", "what")}
    assert table.lines.tolist() == [number for number, _ in expected]
    for at, (_, cells) in enumerate(expected):
        assert [found[name][at] for name in found] == cells[-3:], expected


STRINGS = """<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">
<si><t>date</t></si><si><t>taxon</t></si><si><t xml:space="preserve"> box turtle </t></si>
<si><r><t xml:space="preserve">snapping </t></r><r><rPr><b/></rPr><t>turtle</t></r></si>
<si><t>dead &amp; dry &lt;3</t><phoneticPr fontId="1"/></si><si/></sst>"""
ROWS_OF_STRINGS = """<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c></row>
<row r="2"><c r="A2" t="str"><v>2024-06-08</v></c><c r="B2" t="s"><v>2</v></c></row>
<row r="3"><c r="A3" t="inlineStr"><is><t>2024-06-09</t></is></c><c r="B3" t="s"><v>3</v></c></row>
<row r="5"><c r="A5" t="d"><v>2024-06-10</v></c><c r="B5" t="s"><v>4</v></c></row>
<row r="6"><c r="A6" t="s"><v>5</v></c><c r="B6" t="s"><v>2</v></c></row>"""


def with_strings():
    """A workbook that keeps its texts in a part of their own, as the common programs write it (ECMA-376, 18.4)."""
    book = Workbook()
    book.active["A1"] = 1
    stream = io.BytesIO()
    book.save(stream)
    with zipfile.ZipFile(stream) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    main = b"application/vnd.openxmlformats-officedocument.spreadsheetml"
    kind = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings"
    strings = b'<Override PartName="/xl/sharedStrings.xml" ContentType="' + main + b'.sharedStrings+xml"/></Types>'
    relation = b'<Relationship Id="rId99" Type="' + kind + b'" Target="sharedStrings.xml"/></Relationships>'
    sheet = parts["xl/worksheets/sheet1.xml"]
    before, after = sheet.split(b"<sheetData>")[0], sheet.split(b"</sheetData>")[1]
    parts["xl/worksheets/sheet1.xml"] = before + b"<sheetData>" + ROWS_OF_STRINGS.encode() + b"</sheetData>" + after
    parts["xl/sharedStrings.xml"] = STRINGS.encode()
    parts["[Content_Types].xml"] = parts["[Content_Types].xml"].replace(b"</Types>", strings)
    parts["xl/_rels/workbook.xml.rels"] = parts["xl/_rels/workbook.xml.rels"].replace(b"</Relationships>", relation)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, body in parts.items():
            archive.writestr(name, body)
    return packed.getvalue()


def test_texts_kept_in_a_part_of_their_own_are_those_that_openpyxl_reads(make_file):
    body = with_strings()
    (table,) = read_file(make_file("book.xlsx", body))
    expected = by_openpyxl(body)
    assert table.lines.tolist() == [number for number, _ in expected] == [2, 3, 5, 6]
    assert table.rows[["date", "taxon"]].to_numpy().tolist() == [cells for _, cells in expected]
    assert table.rows["taxon"].tolist() == ["box turtle", "snapping turtle", "dead & dry <3", "box turtle"]
