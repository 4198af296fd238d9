"""Visits, loggers and weather for tests of windows; all invented."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from roadwatch.hatch.temperatures import Weather

AS_OF = date(2024, 7, 1)


def visit(outcome: str, at: str = "2024-06-20T09:00:00-04:00", nest_id: str = "N1") -> pd.DataFrame:
    return pd.DataFrame({"nest_id": [nest_id], "checked_at": [at], "outcome": [outcome]})


def shifted(weather: Weather, by_c: float) -> Weather:
    return Weather(weather.first_day, weather.low_c + by_c, weather.high_c + by_c, weather.source)


def own(celsius: float, *, first="2024-05-25", days=40) -> dict[str, Weather]:
    low = np.full(days, celsius)
    return {"HB7": Weather(date.fromisoformat(first), low - 3, low + 3, "HB7", mean_c=low)}
