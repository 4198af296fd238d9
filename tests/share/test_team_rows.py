"""A team's file holds every cell in a form that intake understands."""

import pandas as pd
import pytest

from roadwatch.records.taxa import taxonomy_of
from roadwatch.share.team_rows import team_rows


@pytest.fixture
def rows():
    """One crossing as the season holds it, with any column changed, and its row for the team."""

    def make(**changes):
        held = {
            "record_key": "k1",
            "batch": 1.0,
            "record_id": None,
            "observed_at": "2025-05-12",
            "longitude": -82.3,
            "latitude": 29.6,
            "taxon": "Trachemys scripta",
            "taxon_as_written": "slider",
            "gravid": None,
            "notes": None,
            "other": None,
        }
        table = pd.DataFrame([held | changes]).astype({"gravid": object, "other": object})
        return team_rows(table, "crossings", taxonomy=taxonomy_of()).iloc[0].to_dict()

    return make


def test_a_record_bears_its_name_even_where_it_was_made_from_its_content(rows):
    assert rows()["record_id"] == "k1"


def test_a_name_stands_in_the_observers_words(rows):
    assert rows()["taxon"] == "slider"


@pytest.mark.parametrize("written", ["snapper", "no such thing", None])
def test_a_name_that_no_longer_gives_the_taxon_kept_gives_way_to_it(rows, written):
    assert rows(taxon_as_written=written)["taxon"] == "Trachemys scripta"


def test_columns_that_nobody_knows_stand_by_their_own_names_again(rows):
    told = rows(other='{"weather": "rain", "access": "team only", "notes": "x"}')
    assert told["weather"] == "rain"
    assert not {"access", "other", "batch", "record_key", "notes"} & told.keys()


@pytest.mark.parametrize(("held", "written"), [(True, "true"), (False, "false")])
def test_yes_and_no_are_words(rows, held, written):
    assert rows(gravid=held)["gravid"] == written


def test_a_blank_column_is_left_out_unless_the_kind_needs_it(rows):
    told = rows(observed_at=None)
    assert "notes" not in told
    assert told["observed_at"] is None
