"""How sure a hotspot is, in few words."""

import numpy as np
import pandas as pd

from roadwatch.cli.hotspot_tables import how_sure, place_words, print_hotspots


def hotspots(**changes):
    row = {
        "rank": 1,
        "road": "Invented Road of an Exceedingly Long Name",
        "from_m": 100.0,
        "to_m": 400.0,
        "deaths": 7.0,
        "expected": 0.5,
        "rank_low": 1,
        "rank_high": 3,
        "years_present": 2,
        "years_searched": 4,
        "window_from": "04-20",
        "window_to": "06-15",
        "hour_from": np.nan,
        "hour_to": np.nan,
        "support": np.nan,
        "one_season": False,
        "leaves_without_observer": False,
        "leaves_without_repeats": False,
    }
    return pd.DataFrame([row | changes])


def test_years_ranks_and_window_are_drawn_together():
    row = how_sure(hotspots()).iloc[0]
    assert (row["years"], row["ranks"], row["window"]) == ("2 of 4", "1 to 3", "04-20 to 06-15")


def test_what_a_hotspot_hangs_on_is_named():
    row = how_sure(hotspots(one_season=True, leaves_without_repeats=True)).iloc[0]
    assert row["hangs_on"] == "one season, possible repeats"


def test_support_is_a_share_and_missing_columns_are_not_shown():
    assert how_sure(hotspots(support=0.85)).iloc[0]["support"] == "85%"
    assert not {"support", "hours", "hangs_on"} & set(how_sure(hotspots()).columns)


def test_a_long_name_is_cut_in_print_only(capsys):
    print_hotspots(hotspots())
    printed = capsys.readouterr().out
    assert "Invented Road of an E…" in printed
    assert max(map(len, printed.splitlines())) <= 100


def test_a_second_list_reads_as_sentences():
    (words,) = place_words(hotspots(), "Effort unknown")
    assert words.startswith("Effort unknown 1: Invented Road of an Exceedingly Long Name, 100 to 400 m, 7 deaths where")
