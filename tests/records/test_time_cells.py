import pandas as pd

from roadwatch.records.time_cells import joined_times


def texts(*cells):
    return pd.Series(cells, dtype=object)


def blank_as_none(column):
    return [None if pd.isna(cell) else cell for cell in column]


def test_an_hour_is_put_behind_a_date_that_has_none():
    main = texts("2025-05-12", "2025-05-12 08:00", None, "5/12/2025")
    clock = texts("07:40", "07:40", "07:40", None)
    joined = joined_times(main, clock=clock, day=None)
    assert blank_as_none(joined) == ["2025-05-12 07:40", "2025-05-12 08:00", None, "5/12/2025"]


def test_a_day_is_put_before_a_mere_hour():
    main = texts("07:40", "2025-05-13 09:00", "7 am", None)
    day = texts("2025-05-12", "2025-05-12", None, "2025-05-12")
    joined = joined_times(main, clock=None, day=day)
    assert blank_as_none(joined) == ["2025-05-12 07:40", "2025-05-13 09:00", "7 am", None]


def test_without_either_nothing_changes():
    main = texts("2025-05-12", None)
    assert blank_as_none(joined_times(main, clock=None, day=None)) == ["2025-05-12", None]
