"""What a release keeps of an open crossing, and the rows made of it again. All is invented."""

import json

import numpy as np
import pandas as pd
import pytest

from roadwatch.share.open_rows import (
    NEVER_SHOWN,
    PUBLIC_CROSSINGS,
    column,
    keys_of,
    open_contents,
    open_crossings,
    open_records,
)
from roadwatch.share.releases import NOTHING_RELEASED, plan_release

PLACES = [(-82.3, 29.6), (-82.2, 29.7), (-82.1, 29.5)]
NO_MASKED = pd.DataFrame({"kind": [], "record_key": [], "square": []}, dtype=object)


def release_of(records, standing=NOTHING_RELEASED):
    return plan_release(NO_MASKED, open_contents(records), standing=standing)


def test_a_content_holds_what_everybody_reads_and_what_tells_doubles(crossings):
    (text,) = open_contents(crossings(PLACES[:1], sex="female"))["content"]
    told = json.loads(text)
    assert next(iter(told)) == "day"  # the order of numbers follows the text, so the day comes first
    assert {name: told[name] for name in ("day", "taxon", "sex", "observer")} == {
        "day": "2025-05-12",
        "taxon": "Trachemys scripta",
        "sex": "female",
        "observer": "A. Warden",
    }
    assert set(told) == {*PUBLIC_CROSSINGS, *NEVER_SHOWN, "longitude", "latitude", "position_error_m"}


def test_a_name_that_a_second_person_gave_is_the_one_that_everybody_reads(crossings):
    records = crossings(PLACES, verified_taxon=["Chelydra serpentina", "Trachemys scripta", None])
    shown = open_crossings(release_of(records)).sort_values("taxon", kind="stable")
    assert shown["taxon"].tolist() == ["Chelydra serpentina", "Trachemys scripta", "Trachemys scripta"]
    # 0.8 was the observer's certainty of the name that stands no more
    assert shown["id_confidence"].fillna(-1).tolist() == [-1, 0.8, 0.8]


def test_names_notes_and_photographs_are_not_kept(crossings):
    (text,) = open_contents(crossings(PLACES[:1], record_id="hollowoak"))["content"]
    assert not any(word in text for word in ("hollowoak", "culvert", "IMG_1"))


def test_everybody_sees_no_more_than_the_public_columns(crossings):
    shown = open_crossings(release_of(crossings(PLACES)))
    assert list(shown.columns) == [*PUBLIC_CROSSINGS, "geometry"]
    assert "Warden" not in shown.to_wkt().to_csv()
    assert "07:40" not in shown.to_wkt().to_csv()


def test_rows_stand_by_day_and_place_whatever_the_order_of_entry(crossings):
    days = ["2025-05-14", "2025-05-12", None]
    one = crossings(PLACES, observed_at=days)
    shown = open_crossings(release_of(one))
    assert shown["day"].tolist() == ["2025-05-12", "2025-05-14", None]  # blanks come last
    assert open_crossings(release_of(one.iloc[::-1])).to_wkt().equals(shown.to_wkt())


def test_records_come_back_with_time_place_and_numbers(crossings):
    records = crossings(PLACES, count=[1.0, np.nan, 2.0], heading_deg=[0.0, 90.5, np.nan])
    told = open_records(release_of(records))
    assert told["record_key"].tolist() == ["R0", "R1", "R2"]
    assert told["observed_at"].tolist() == ["2025-05-12T07:40:00-04:00"] * 3
    assert told[["longitude", "latitude"]].to_numpy(dtype=float).tolist() == [list(place) for place in PLACES]
    assert told["count"].tolist() == [1.0, None, 2.0]
    assert told["heading_deg"].tolist() == [0.0, 90.5, None]


def test_a_release_kept_before_more_was_kept_is_read_with_blanks(crossings):
    release = release_of(crossings(PLACES[:1]))
    (text,) = release.shown["content"]
    short = {name: value for name, value in json.loads(text).items() if name not in NEVER_SHOWN}
    release.shown["content"] = [json.dumps(short)]
    (row,) = open_records(release).to_dict("records")
    assert row["observed_at"] == "2025-05-12"
    assert row["observer"] is None


def test_text_of_any_letters_comes_back(crossings):
    odd = 'said "B", \\ \n \U0001f422 \u2028 </script>'
    told = open_records(release_of(crossings(PLACES[:1], observer=odd)))
    assert told["observer"].tolist() == [odd]


def test_no_open_record_gives_no_row():
    release = plan_release(NO_MASKED, NO_MASKED.rename(columns={"square": "content"}), standing=NOTHING_RELEASED)
    assert open_records(release).empty
    assert open_crossings(release).empty
    assert open_crossings(release).crs == "EPSG:4326"


@pytest.mark.parametrize("name", ["record_key", "record_id", "nest_id"])
def test_a_record_is_called_by_its_own_name(name):
    assert keys_of(pd.DataFrame({name: ["a"], "other": ["b"]})).tolist() == ["a"]


def test_a_table_without_names_is_called_by_its_rows():
    assert keys_of(pd.DataFrame({"x": [1, 2]}, index=[7, 9])).tolist() == [7, 9]


def test_a_missing_column_is_blank():
    assert column(pd.DataFrame({"x": [1, 2]}, index=[7, 9]), "y").to_dict() == {7: None, 9: None}
