from zoneinfo import ZoneInfo

import pandas as pd
import pytest

from roadwatch.records.columns import plan_columns
from roadwatch.records.fields import fields_of
from roadwatch.records.file_habits import habits_of

EASTERN = ZoneInfo("America/New_York")


def habits(kind="crossings", *, written=(), date_order=None, **columns):
    """The habits of a file with these cells; every other column is blank."""
    cells = {name: pd.Series(columns.get(name, []), dtype=object) for name in fields_of(kind)}
    plan = plan_columns([*written, *columns], kind)
    return habits_of(cells, plan, kind, zone=EASTERN, date_order=date_order)


def test_a_file_without_peculiarities_has_nothing_to_say():
    plain = habits(observed_at=["2025-05-12", None], id_confidence=["0.8"], carapace_mm=["200"])
    assert (plain.order, plain.per_cent, plain.utc, plain.notes) == (None, frozenset(), frozenset(), ())
    assert plain.zone is EASTERN


def test_all_date_columns_together_tell_the_order():
    told = habits("nests", found_at=["6/8/2025"], laid_on=["5/31/2025"])
    assert told.order == "month first"
    assert told.notes == ("dates are read as month/day/year: 1 can be nothing else",)


@pytest.mark.parametrize(
    ("dates", "asked", "order", "said"),
    [
        (["6/8/2025"], "day first", "day first", "dates are read day first, as asked"),
        (["6/8/2025", "5/31/2025"], "day first", "month first", "dates are read as month/day/year"),
        (["5/31/2025", "31/5/2025"], "day first", "day first", "dates are read day first, as asked"),
        (["6/8/2025"], None, None, "no date tells whether day or month stands first"),
    ],
)
def test_the_order_asked_for_counts_where_the_file_does_not_tell(dates, asked, order, said):
    told = habits(observed_at=dates, date_order=asked)
    assert told.order == order
    assert told.notes[0].startswith(said)


def test_per_cent_is_taken_from_the_name_or_from_all_cells():
    assert habits(written=["confidence %"]).per_cent == {"id_confidence"}
    assert habits(written=["confidence"]).per_cent == frozenset()
    assert habits(id_confidence=["80", "sure", None]).per_cent == {"id_confidence"}
    assert habits(id_confidence=["80", "0.5"]).per_cent == frozenset()


def test_a_column_named_utc_is_utc():
    assert habits(written=["time (UTC)"]).utc == {"observed_at"}
    assert habits(written=["time"]).utc == frozenset()


@pytest.mark.parametrize(
    ("written", "notes"),
    [
        ("SCL (in)", ("column 'SCL (in)' is turned from in to carapace_mm in mm",)),
        ("scl_mm", ()),
        ("SCL (hands)", ("unit 'hands' in column 'SCL (hands)' is not known; its numbers are taken as mm",)),
    ],
)
def test_units_of_columns_are_said_where_they_matter(written, notes):
    assert habits(written=[written]).notes == notes
