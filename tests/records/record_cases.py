"""Small tables for the tests of reading and checking; every record in them is invented."""

import json
from datetime import date

import pandas as pd

from roadwatch.records.checks import CheckContext
from roadwatch.records.fields import fields_of
from roadwatch.records.tables import RawTable

TIMEZONE = "America/New_York"
TODAY = date(2026, 6, 1)
GOOD = {
    "crossings": {"observed_at": "2025-05-12", "longitude": "-82.3", "latitude": "29.6", "taxon": "slider"},
    "nests": {
        "nest_id": "N1",
        "found_at": "2025-05-12",
        "longitude": "-82.3",
        "latitude": "29.6",
        "taxon": "Florida cooter",
    },
    "checks": {"nest_id": "N1", "checked_at": "2025-07-12", "outcome": "intact"},
    "searches": {"search_id": "S1", "started_at": "2025-05-12T07:00", "method": "foot", "roads": "Lornby Road"},
    "temperatures": {"series_id": "T1", "date": "2025-05-12", "tmin_c": "18", "tmax_c": "31"},
    "people": {"observer": "Ada", "days": "Mo;We", "hours_per_day": "3"},
    "measures": {"measure_id": "M1", "kind": "fence", "built_on": "2024-03-01", "wkt": "POINT (-82.3 29.6)"},
}


def raw(kind="crossings", *changes, **options):
    """A raw table with one good row a change, the change made to it; one plain row where there is no change."""
    rows = [{**GOOD[kind], **change} for change in changes or ({},)]
    names = list(dict.fromkeys(name for row in rows for name in row))
    columns = {name: [row.get(name) for row in rows] for name in names}
    return RawTable.of_columns(f"{kind}.csv", columns, **options)


def typed(kind="crossings", *changes):
    """A typed table of good rows, each with its change, as the rules meet it."""
    known, other = fields_of(kind), {name: cell for name, cell in GOOD[kind].items() if name not in fields_of(kind)}
    good = {
        name: float(cell) if known[name].type == "number" else cell
        for name, cell in GOOD[kind].items()
        if name in known
    }
    good |= {"other": json.dumps(other)} if other else {}
    table = pd.DataFrame([{**dict.fromkeys(fields_of(kind)), **good, **change} for change in changes or ({},)])
    table = table.assign(source=f"{kind}.csv", line=range(2, len(table) + 2), original="as written")
    return table.astype({name: "float64" for name, one in fields_of(kind).items() if one.type in ("number", "integer")})


def context(**changes):
    """The invented county's surroundings on a fixed day."""
    return CheckContext(**{"today": TODAY, "west": -82.7, "south": 29.4, "east": -82.0, "north": 29.9, **changes})
