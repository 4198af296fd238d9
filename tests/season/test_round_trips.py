"""
What `share --for team` writes is read back without loss, whatever stands in the cells: every kind, every such format.

The cells are drawn by hypothesis, odd ones among them; what a season holds of them must be what the next one holds.
"""

import json
import re
import tempfile
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from roadwatch.records.fields import ID_FIELD
from roadwatch.records.readers import read_file
from roadwatch.records.store import Batch, Season
from roadwatch.records.tables import RawTable
from roadwatch.records.values import parse_values
from roadwatch.season.sharing import ENDINGS, share_season

FORMS = ("csv", "geojson", "geopackage")
ODD = (
    '=1+1', "'=1+1", "''", "'", "@here", "-", "- shell", "+", "%5", "007", "1e5", "1,5", "TRUE", "NA", "none", "null",
    'said "B"', '"', 'a,b;c\td', "two\nlines", "two\r\nlines", "three\n\n\nlines", "turtle \U0001f422", "e\u0301",
    "\u202egnp", "\ufeffmark", "{\"a\": 1}", "<b>&amp;</b>", "\\n", "line\u2028separator", "2025-05-12", "#", "sep=;",
    "access",
)  # fmt: skip
CELLS = st.one_of(
    st.sampled_from(ODD), st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)
)
TIMES = st.sampled_from(
    ["2025-05-12", "2025-05-12T07:40:00-04:00", "2025-11-02T01:30:00-05:00", "2025-05-12T23:59:59+05:45",
     "2025-05-12T00:00:00+00:00"]
)  # fmt: skip
DAYS = st.sampled_from(["2025-05-12", "2024-02-29", None])
NUMBERS = st.one_of(st.none(), st.floats(0.1, 200).map(lambda x: f"{x:.6g}"))
DEGREES = st.integers(10_000_000, 79_900_000_000).map(lambda x: f"{(-1) ** (x % 2) * x / 1e9:.9f}")
BOOLEANS = st.sampled_from(["true", "false", None])
LINES = st.sampled_from(["LINESTRING (-81.9 31.7, -81.89 31.71)", "POINT (-81.9 31.7)", None])
MAYBE = st.one_of(st.none(), CELLS)

# fmt: off
ROWS = {
    "crossings": {
        "observed_at": TIMES, "longitude": DEGREES, "latitude": DEGREES, "position_error_m": NUMBERS,
        "taxon": st.sampled_from(["slider", "Terrapene carolina", "Trachemys sp.", "turtle", "box turtle?"]),
        "id_confidence": st.sampled_from(["certain", "0.7", None]), "count": st.sampled_from(["1", "3", None]),
        "condition": st.sampled_from(["dead", "alive", None]), "gravid": BOOLEANS, "observer": MAYBE, "photo": MAYBE,
        "notes": MAYBE, "search_id": MAYBE, "seen_head_side": MAYBE, "weather": MAYBE, "=odd name": MAYBE,
    },
    "nests": {
        "found_at": TIMES, "longitude": DEGREES, "latitude": DEGREES, "taxon": st.just("Trachemys scripta"),
        "laid_on": DAYS, "depth_cm": NUMBERS, "landowner_ok": BOOLEANS, "logger_id": MAYBE, "notes": MAYBE,
        "@beside": MAYBE,
    },
    "checks": {
        "nest_id": CELLS, "checked_at": TIMES, "outcome": st.sampled_from(["intact", "emerged", None]),
        "hatchlings_live": st.sampled_from(["0", "12", None]), "observer": MAYBE, "notes": MAYBE, "soil": MAYBE,
    },
    "searches": {
        "started_at": TIMES, "observer": MAYBE, "method": st.sampled_from(["foot", "car", None]),
        "roads": MAYBE, "distance_km": NUMBERS, "found_none": BOOLEANS, "notes": MAYBE,
        "track": st.sampled_from(["LINESTRING (-81.9 31.7, -81.89 31.71)", None]),
    },
    "measures": {
        "kind": st.sampled_from(["fence", "sign", "other"]), "built_on": st.just("2024-11-02"), "removed_on": DAYS,
        "sides": st.sampled_from(["1", "2", None]), "ends_treated": BOOLEANS, "cost": NUMBERS, "notes": MAYBE,
        "wkt": LINES, "maker": MAYBE,
    },
    "temperatures": {
        "series_id": CELLS, "kind": st.sampled_from(["air", "nest", "forecast", None]), "at": TIMES, "temp_c": NUMBERS,
        "depth_cm": NUMBERS, "placed by": MAYBE,
    },
}
# fmt: on


def tables_of(kind):
    """A few rows of a kind; ids that differ, so that every row is a record."""
    row = st.fixed_dictionaries(ROWS[kind])
    named = ID_FIELD.get(kind)

    def with_names(rows):
        return [{named: f"r{k}", **row} if named and named not in row else row for k, row in enumerate(rows)]

    return st.lists(row, min_size=1, max_size=4).map(with_names)


def batch(table, kind, name):
    accepted, faults = parse_values(table, kind, timezone="America/New_York")
    return Batch(name, name, kind, "2025-07-01", accepted, faults)


def stored(folder, name, kind, tables):
    season = Season.create(folder / f"{name}.gpkg", timezone="America/New_York", region=None, settings={})
    for k, table in enumerate(tables):
        season.write_batch(batch(table, kind, f"{name}{k}"))
    return season


def held(season, kind):
    """All cells of a kind as text, without where they came from; a shape counts by its coordinates."""
    records = season.read(kind)
    shapes = records.geometry.to_wkt(rounding_precision=6) if "geometry" in records else None
    told = pd.DataFrame(records.drop(columns=["geometry", "batch"], errors="ignore"))
    told["other"] = [own_columns(text, kind) for text in told["other"]]
    told = told.drop(columns="record_key") if kind not in ID_FIELD else told
    told = told.assign(shape=shapes) if shapes is not None else told
    told = told.astype(object).where(told.notna(), None)
    return sorted([{k: v for k, v in row.items() if v is not None} for row in told.to_dict("records")], key=repr)


def as_told(rows, form):
    """In CSV a control character, which no text file may hold, is the sign for one that is not known."""
    return re.sub(r"\\x[01][0-9a-f]", "\ufffd", repr(rows)) if form == "csv" else repr(rows)


def own_columns(text, kind):
    """The columns that the kind has no field for, without the mark of the team and the place of a measure."""
    drop = {"access", "wkt", "longitude", "latitude"} if kind == "measures" else {"access"}
    return sorted((k, v) for k, v in json.loads(text or "{}").items() if k not in drop)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("kind", list(ROWS))
def test_every_kind_comes_back_as_it_was_from_every_format(kind, form):
    @settings(
        max_examples=12, deadline=None, derandomize=True, database=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(rows=tables_of(kind))
    def round_trip(rows):
        with tempfile.TemporaryDirectory() as made:
            folder = Path(made)
            columns = {name: [row[name] for row in rows] for name in rows[0]}
            first = stored(folder, "first", kind, [RawTable.of_columns("first.csv", columns)])
            if not len(first.read(kind)):
                return
            to = folder / f"shared{ENDINGS[form][0]}"
            shared = share_season(
                first.path, form=form, to=to, audience="team", as_of=date(2025, 7, 1), released_at="2025-07-01"
            )
            tables = [table for file in shared.files for table in read_file(file)]
            again = held(stored(folder, "second", kind, tables), kind)
            assert as_told(again, form) == as_told(held(first, kind), form)

    round_trip()


def test_what_is_compared_does_hold_odd_cells(tmp_path):
    rows = {
        "record_id": [f"r{k}" for k in range(len(ODD))],
        "notes": list(ODD),
        "observed_at": ["2025-05-12"] * len(ODD),
    }
    place = {"longitude": [str(-81 - k / 1e3) for k in range(len(ODD))], "latitude": ["31"] * len(ODD)}
    table = RawTable.of_columns("t.csv", {**rows, **place, "taxon": ["slider"] * len(ODD)})
    told = held(stored(tmp_path, "one", "crossings", [table]), "crossings")
    assert {row["notes"] for row in told} == {cell.strip() for cell in ODD}
    assert all(np.isfinite(row["longitude"]) for row in told)
