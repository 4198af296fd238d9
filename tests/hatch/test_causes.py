from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.hatch.causes import CAUSE_COLUMNS, CAUSE_LAWS, REMEDIES, best_remedies
from roadwatch.hatch.temperatures import Weather
from roadwatch.hatch.window import project_windows

AS_OF = date(2024, 6, 2)


@pytest.fixture
def explained(nest):
    def make(weather, *rows, candidates=None, loggers=None, coverage=0.8, as_of=AS_OF):
        return project_windows(
            pd.DataFrame([nest(**row) for row in rows or ({},)]),
            weather,
            region="AL_Mobile_delta",
            as_of=as_of,
            rng=np.random.default_rng(1),
            candidates=candidates,
            loggers=loggers,
            coverage=coverage,
            explain=True,
        )

    return make


def days(causes: pd.DataFrame, column: str = "days_alone") -> dict[str, float]:
    return dict(zip(causes["cause"], causes[column], strict=True))


def test_each_cause_alone_spans_what_the_error_model_says(explained, steady_weather):
    # By hand, at a steady 26 degrees of air and 28 in the nest, 65.6 days: 80 % of a normal is 2.563 standard
    # deviations. Nest heat 1.5 degrees of 12.26; clutch 3.2 %; straight line 5 %; laying within one day; no weather.
    alone = days(explained(steady_weather(26.0)).causes)
    assert alone["weather"] == pytest.approx(0, abs=1e-6)
    assert alone["clutch"] == pytest.approx(2.563 * 0.032 * 65.6, rel=0.03)
    assert alone["straight line"] == pytest.approx(2.563 * 0.05 * 65.6, rel=0.03)
    assert alone["laying day"] == pytest.approx(0.8, abs=0.02)
    low, high = (804 / (12.26 + side * 1.2816 * 1.5) for side in (1, -1))
    assert alone["nest heat"] == pytest.approx(high - low, rel=0.03)
    assert alone["parameters"] == pytest.approx(2.563 * 0.66, rel=0.15)  # 0.66 days at 28 degrees, see the table


def test_the_causes_together_are_about_the_window(explained, years_of_weather):
    # Independent causes combine as the root of the sum of squares; the taper of a ratio leaves some per cent.
    made = explained(years_of_weather())
    row = made.table.iloc[0]
    width = (date.fromisoformat(row["hatch_late"]) - date.fromisoformat(row["hatch_early"])).days
    together = np.sqrt((made.causes["days_alone"] ** 2).sum())
    assert together == pytest.approx(width, rel=0.15)


def test_weather_alone_at_clemson_is_no_wider_than_ninety_summers_and_no_narrower_than_a_week(explained, clemson):
    # 80 % of 90 summers, laid 1 June at +2 degrees, spans 13.3 days (clemson_hindcast); the latest 30 drift less.
    made = explained(clemson, {"laid_on": "2020-06-01", "found_at": "2020-06-01"}, as_of=date(2020, 6, 2))
    assert 7 < days(made.causes)["weather"] <= 13.3


def test_the_table_is_sorted_by_nest_and_width(explained, years_of_weather):
    made = explained(years_of_weather(), {"nest_id": "B"}, {"nest_id": "A", "taxon": "Chelydra serpentina"})
    assert list(made.causes.columns) == CAUSE_COLUMNS
    assert list(made.causes["nest_id"].unique()) == ["B", "A"]
    for _, part in made.causes.groupby("nest_id"):
        assert part["days_alone"].is_monotonic_decreasing
    assert set(made.causes["remedy"]) <= set(REMEDIES.values())


def test_a_long_span_of_laying_calls_for_an_earlier_visit(explained, years_of_weather):
    long = {"laid_on": None, "laid_from": "2024-05-01", "laid_to": "2024-06-01", "exposure": "closed"}
    made = explained(years_of_weather(), long)
    known = days(made.causes, "days_narrower")
    assert known["laying day"] > known["clutch"]
    assert any("an earlier visit" in note or "logger" in note for note in made.notes)


def test_a_plain_nest_calls_for_a_logger(explained, years_of_weather):
    made = explained(years_of_weather(), {}, {"nest_id": "N2"})
    assert days(made.causes.iloc[:6], "days_narrower")["nest heat"] > 5
    told = [note for note in made.notes if note.startswith("For 2 of 2 windows a temperature logger")]
    assert len(told) == 1
    assert CAUSE_LAWS in made.notes


def test_a_logger_takes_nest_heat_out_of_the_days_it_recorded(explained, steady_weather):
    own = Weather(date(2024, 1, 1), np.full(366, 28.0), np.full(366, 28.0), "L")
    made = explained(steady_weather(26.0), {"logger_id": "L"}, loggers={"L": own}, as_of=date(2024, 12, 31))
    alone = days(made.causes)
    assert alone["nest heat"] == pytest.approx(0, abs=1e-6)
    # By hand: 0.25 degrees of 12.26 over 65.6 days, times 2.563
    assert alone["logger"] == pytest.approx(2.563 * 0.25 / 12.26 * 65.6, rel=0.03)


def test_a_doubtful_name_is_a_cause_of_its_own(explained, years_of_weather):
    made = explained(years_of_weather(), candidates={"N1": {"Trachemys scripta": 0.6, "Chelydra serpentina": 0.4}})
    taxon = made.causes.set_index("cause").loc["taxon"]
    assert taxon["days_alone"] > 3
    assert taxon["days_narrower"] > 0
    assert "better identification" in taxon["remedy"]


def test_ends_beyond_december_are_no_number(explained, steady_weather):
    causes = explained(steady_weather(18.0)).causes
    assert causes["days_narrower"].isna().any()


def test_nests_without_a_window_have_no_causes(explained, years_of_weather):
    made = explained(years_of_weather(), {"taxon": "Deirochelys reticularia"})
    assert made.causes.empty
    assert list(made.causes.columns) == CAUSE_COLUMNS


def test_nothing_is_worked_out_unless_asked(nest, years_of_weather):
    made = project_windows(
        pd.DataFrame([nest()]), years_of_weather(), region="FL_Suwannee", as_of=AS_OF, rng=np.random.default_rng(1)
    )
    assert made.causes is None
    assert CAUSE_LAWS not in made.notes


def test_where_nothing_can_be_done_nothing_is_recommended():
    table = pd.DataFrame(
        [("N1", "weather", 9.0, 8.0, 1.2, "wait"), ("N1", "nest heat", 1.0, 0.4, np.nan, "log")], columns=CAUSE_COLUMNS
    )
    assert best_remedies(table) == []
