"""Records of an invented season for the tests of sharing: nothing in it was ever observed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest

if TYPE_CHECKING:
    from collections.abc import Callable


@pytest.fixture
def crossings() -> Callable[..., pd.DataFrame]:
    """Crossings at the given places, common sliders unless told otherwise."""

    def make(places: list[tuple[float, float]], **changes: Any) -> pd.DataFrame:
        columns: dict[str, Any] = {
            "record_id": [f"R{number}" for number in range(len(places))],
            "observed_at": "2025-05-12T07:40:00-04:00",
            "longitude": [place[0] for place in places],
            "latitude": [place[1] for place in places],
            "position_error_m": 10.0,
            "taxon": "Trachemys scripta",
            "id_confidence": 0.8,
            "count": 1.0,
            "condition": "dead",
            "observer": "A. Warden",
            "photo": "IMG_1.jpg",
            "notes": "by the culvert of farm 9",
        }
        return pd.DataFrame({**columns, **changes}, index=range(len(places)))

    return make


@pytest.fixture
def nests() -> Callable[..., pd.DataFrame]:
    """Nests at the given places, numbered from N0."""

    def make(places: list[tuple[float, float]], **changes: Any) -> pd.DataFrame:
        columns: dict[str, Any] = {
            "nest_id": [f"N{number}" for number in range(len(places))],
            "found_at": "2025-05-12",
            "longitude": [place[0] for place in places],
            "latitude": [place[1] for place in places],
            "taxon": "Trachemys scripta",
            "observer": "B. Keeper",
            "notes": "under the third oak",
        }
        return pd.DataFrame({**columns, **changes}, index=range(len(places)))

    return make


@pytest.fixture
def windows() -> Callable[..., pd.DataFrame]:
    """A hatch window for N0, N1, ... from pairs of first and last day."""

    def make(spans: list[tuple[str | None, str | None]]) -> pd.DataFrame:
        return pd.DataFrame(
            {
                "nest_id": [f"N{number}" for number in range(len(spans))],
                "hatch_early": [span[0] for span in spans],
                "hatch_late": [span[1] for span in spans],
                "sureness": "medium",
            }
        )

    return make
