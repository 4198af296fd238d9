"""Facts of a workbook: what openpyxl wrote is what we find; number formats after ECMA-376, part 1, 18.8.30."""

import io
import zipfile

import pytest
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from roadwatch.records.readers.xlsx_book import look_into_book


def look(book, **changes):
    stream = io.BytesIO()
    book.save(stream)
    with zipfile.ZipFile(stream) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    for name, change in changes.items():
        parts[_PARTS[name]] = change(parts[_PARTS[name]])
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, body in parts.items():
            archive.writestr(name, body)
    with zipfile.ZipFile(packed) as archive:
        return look_into_book(archive)


_PARTS = {"workbook": "xl/workbook.xml", "relations": "xl/_rels/workbook.xml.rels"}


@pytest.fixture
def book():
    made = Workbook()
    made.create_sheet("June, late")
    return made


def test_each_sheet_is_found_in_its_part(book):
    assert look(book).parts == {"Sheet": "xl/worksheets/sheet1.xml", "June, late": "xl/worksheets/sheet2.xml"}


def test_a_part_may_be_named_from_the_folder_of_the_workbook_or_from_the_root(book):
    from_folder = look(book, relations=lambda xml: xml.replace(b"/xl/worksheets/", b"worksheets/"))
    assert from_folder.parts == look(book).parts


def test_the_calendar_is_told(book):
    assert not look(book).is_1904
    book.epoch = CALENDAR_MAC_1904
    assert look(book).is_1904
    assert look(book, workbook=lambda xml: xml.replace(b'date1904="1"', b'date1904="true"')).is_1904
    assert not look(book, workbook=lambda xml: xml.replace(b'date1904="1"', b'date1904="0"')).is_1904


@pytest.mark.parametrize(
    ("number_format", "has_clock"),
    [
        *[("m/d/yy h:mm", True), ("yyyy-mm-dd hh:mm:ss", True), ("h:mm AM/PM", True), ("[$-409]m/d/yy h:mm", True)],
        *[("mm-dd-yy", False), ("yyyy-mm-dd", False), ("General", False), ("0.00", False), ("[h]:mm:ss", False)],
        *[('d "th of" mmmm', False), ("d\\h", False), ("[$-h]d", False)],
    ],
)
def test_formats_that_show_a_time_of_day_are_known(book, number_format, has_clock):
    book.active["A1"].number_format = number_format
    assert bool(look(book).clock_styles) == has_clock


def test_a_workbook_without_its_list_of_parts_is_no_workbook():
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("xl/workbook.xml", "<workbook/>")
    with zipfile.ZipFile(packed) as archive, pytest.raises(KeyError, match=r"workbook\.xml\.rels"):
        look_into_book(archive)
