"""Parts of a report: each figure and table has one file of numbers."""

import pandas as pd

from roadwatch.share.report_parts import CountyReport, Figure, Section, Table

ROWS = pd.DataFrame({"label": ["a"], "value": [1.0], "low": [0.5], "high": [2.0]})


def test_every_figure_and_every_table_is_a_file():
    figure = Figure("bars", "Bars", "How to read.", "bars", ROWS, "turtles")
    told = Section("seen", "What was seen", (), (figure,), (Table("rows", "Rows", ROWS[["label"]]),))
    report = CountyReport("team", 2025, 2024, (told, Section("nests", "Nests", lacking="none")), ())
    assert list(report.tables()) == ["bars", "rows"]
    assert report.tables()["bars"].equals(ROWS)


def test_a_report_without_answers_has_no_files():
    assert CountyReport("public", 2025, 2025, (Section("nests", "Nests", lacking="none"),), ()).tables() == {}
