"""
How large a file of strangers may be, each limit with its reason.

A limit stands well above what a county sends in a year and well below what fills the memory of a laptop; unless a
source is named they are conventions of our own.
"""

from __future__ import annotations

LARGEST_MB = 500
"""Text, GeoPackage and shapefile: a million rows of text are about 150 MB."""
LARGEST_JSON_MB = 100
"""JSON is taken in whole and needs about ten times its size in memory."""
LARGEST_XML_MB = 50
"""GPX and KML are taken in whole; a year of one-second tracks of a volunteer is about 20 MB."""
MOST_TAGS = 5_000_000
"""Opening and closing tags of one XML file; a tree of so many takes about 0.6 GB."""
LONGEST_LINE = 5_000_000
"""Characters of one line of text; a file with a longer line is no table."""
LONGEST_CELL = 131_072
"""Characters of one cell of text: what Python's csv module takes unless told otherwise."""
MOST_COLUMNS = 1_000
"""Columns of one table; survey exports have some hundreds, the .dbf of a shapefile can have 255."""
LONGEST_NAME = 300
"""Characters of a column's name; whole questions of a survey form stand as names."""
MOST_PADDED_CELLS = 5_000_000
"""Cells of a table after short rows were filled up with blanks ..."""
MOST_PADDED_TIMES = 20
"""... and how many times as many as were written: a few letters a row must not become a wide table."""

LARGEST_SUM_MB = 500
"""Of a zip archive once unpacked."""
LARGEST_RATIO = 200
"""How many times a member of a zip archive may be packed; text of the same row over and over reaches about 250."""
MOST_MEMBERS = 1_000
"""Files in a zip archive of layers; photographs have their own limit."""

FREE_SHEET_MB = 4
"""A spreadsheet or KMZ may unpack to this whatever its packing ..."""
MOST_TIMES_PACKED = {"xlsx": 15, "ods": 80, "kmz": 30}
"""... and beyond it to so many times its packed size: measured 6 to 12 for XLSX and 28 for ODS of invented records."""
MOST_MERGED_ROWS = 1_000_000
"""Rows beside the merged cells of a sheet, all of them together."""
LARGEST_PART_MB = 2
"""Styles, names and links of a spreadsheet, each, which are no cells; 20,000 cell styles are about 2 MB."""
MOST_GRID_CELLS = 10_000_000
"""Cells of one sheet, blanks up to the last filled column of each row included."""
MOST_DENSE_CELLS = 4_000_000
"""Cells where a library lays a sheet out with all its blanks: last row times last column; measured 60 bytes each."""
LAST_ROW = 1_048_576
"""Rows of a sheet (Office Open XML, ECMA-376; the common programs for OpenDocument have as many)."""
LAST_COLUMN = 16_384
"""Columns of a sheet (as above: XFD)."""
MOST_REPEATED_TIMES = 20
"""OpenDocument writes equal cells once, with a count: how many times as many cells may come of those written ..."""
FREE_REPEATED_CELLS = 200_000
"""... beyond this number."""

MOST_PHOTOS = 10_000
"""Photographs of one folder: a camera's folder holds 10,000 at most (DCF, JEITA CP-3461: numbers 0001 to 9999)."""
LARGEST_PHOTO_MB = 100
"""One JPEG file; 200 megapixels at best quality are about 80 MB."""

MOST_TABLES = 200
"""Sheets, layers or folders of one file that each become a table; beyond it a KML file becomes one table."""
LONGEST_MARKUP = 20_000
"""Characters of a marked-up description that is turned into plain text; a longer one stays as written."""
