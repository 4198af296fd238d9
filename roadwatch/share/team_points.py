"""Crossings and nests of a season as points to walk to, for the team alone."""

from __future__ import annotations

from datetime import UTC, datetime

import pandas as pd

_TIME_FROM = len("2025-05-12T")


def team_points(crossings: pd.DataFrame, nests: pd.DataFrame) -> pd.DataFrame:
    """
    Lay out crossings and nests as waypoints.

    Parameters
    ----------
    crossings, nests
        Rows as the season holds them.

    Returns
    -------
    ``longitude latitude name comment kind time``, crossings first.
    """
    parts = [
        _points(crossings, "crossing", name="record_key", when="observed_at", told="condition"),
        _points(nests, "nest", name="nest_id", when="found_at", told="exposure"),
    ]
    return pd.concat([part for part in parts if len(part)], ignore_index=True)


def _points(records: pd.DataFrame, kind: str, *, name: str, when: str, told: str) -> pd.DataFrame:
    columns = ("taxon", when, told, "notes")
    cells = zip(*(records[column] for column in columns), strict=True)
    return pd.DataFrame(
        {
            "longitude": records["longitude"],
            "latitude": records["latitude"],
            "name": records[name].astype(str),
            "comment": ["; ".join(str(cell) for cell in row if isinstance(cell, str) and cell) for row in cells],
            "kind": f"{kind} (team only)",
            "time": [utc_time(cell) for cell in records[when]],
        }
    )


def utc_time(written: object) -> str | None:
    """
    A time with its offset in Coordinated Universal Time; None where only the day is known.

    >>> utc_time("2025-05-12T07:40:00-04:00"), utc_time("2025-05-12")
    ('2025-05-12T11:40:00Z', None)
    """
    if not isinstance(written, str) or len(written) <= _TIME_FROM:
        return None
    moment = datetime.fromisoformat(written)
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ") if moment.tzinfo else None
