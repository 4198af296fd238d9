"""Each deliberate fault stands on the line that README.md names, and no other row is faulty."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import pandas as pd

LAST_DAY = "2025-07-14"
NOT_TURTLES = {"armadillo", "corn snake"}


def is_in_county(rows: pd.DataFrame) -> pd.Series:
    inside: pd.Series = rows["longitude"].between(-82.1, -81.7) & rows["latitude"].between(31.5, 31.9)
    return inside


def row_at(crossings: pd.DataFrame, fault: pd.Series) -> pd.Series:
    found = crossings[(crossings["file"] == fault["file"]) & (crossings["line"] == fault["line"])]
    assert len(found) == 1
    row: pd.Series = found.iloc[0]
    return row


def is_there(fault: str, row: pd.Series) -> bool:
    """The fault described in words, seen in the row as it is read by hand."""
    lon, lat = row["longitude"], row["latitude"]
    seen = {
        "swapped": -82.1 < lat < -81.7 and 31.5 < lon < 31.9,
        "minus sign missing": 81.7 < lon < 82.1,
        "blank": np.isnan(lat) and not np.isnan(lon),
        "words instead": np.isnan(lat) and not np.isnan(lon),
        "not a turtle": row["taxon"] in NOT_TURTLES,
        "still to come": row["observed_at"].startswith("2052"),
        "no such day": row["observed_at"] == "",
        "without a fix": (lon, lat) == (0.0, 0.0),
        "without a place": np.isnan(lon) and np.isnan(lat),
    }
    return next(bool(is_so) for words, is_so in seen.items() if words in fault)


def test_fourteen_faults_are_planted_in_the_crossings_and_two_at_the_nests(faults: pd.DataFrame) -> None:
    of_nests = faults["file"].str.startswith("nest")
    assert (len(faults), of_nests.sum()) == (16, 2)


def test_every_promised_fault_of_the_crossings_stands_on_its_line(
    crossings: pd.DataFrame, faults: pd.DataFrame
) -> None:
    of_crossings = faults[~faults["file"].str.startswith("nest")]
    missing = [f for _, f in of_crossings.iterrows() if not is_there(f["fault"], row_at(crossings, f))]
    assert missing == []


def test_the_words_and_the_blank_are_written_as_promised(demo: Path) -> None:
    assert "by the old mill" in (demo / "crossings_2023.csv").read_text("utf-8-sig").splitlines()[69]
    assert json.loads((demo / "phone_2025.geojson").read_text("utf-8"))["features"][9]["geometry"] is None
    assert ",6/31/2024," in (demo / "crossings_2024.csv").read_text("utf-8").splitlines()[98]


def test_no_other_crossing_has_any_of_these_faults(good_crossings: pd.DataFrame) -> None:
    assert is_in_county(good_crossings).all()
    assert not good_crossings["taxon"].isin(NOT_TURTLES | {""}).any()
    assert good_crossings["observed_at"].str[:10].between("2022-03-01", LAST_DAY).all()


def test_the_nest_found_before_it_was_laid_stands_on_its_line_and_is_the_only_one(
    faults: pd.DataFrame, table: Callable[[str], pd.DataFrame]
) -> None:
    nests = table("nests.csv")
    early = nests[(nests["laid_on"] != "") & (nests["laid_on"] > nests["found_at"])]
    assert early["line"].tolist() == faults.loc[faults["file"] == "nests.csv", "line"].tolist()


def test_the_visit_before_the_laying_stands_on_its_line_and_is_the_only_one(
    faults: pd.DataFrame, table: Callable[[str], pd.DataFrame]
) -> None:
    nests = table("nests.csv").set_index("nest_id")
    checks = table("nest_checks.csv")
    earliest = nests["laid_on"].where(nests["laid_on"] != "", nests["laid_from"])
    early = checks[checks["checked_at"] < checks["nest_id"].map(earliest)]
    assert early["line"].tolist() == faults.loc[faults["file"] == "nest_checks.csv", "line"].tolist()
