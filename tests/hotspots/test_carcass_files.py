"""The table of a carcass trial: read, fitted, and refused where it cannot be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.hotspots.carcass_files import read_carcass_trial
from roadwatch.hotspots.carcasses import recorded_share

ROWS = ("2,yes,yes", "5,yes,no", "1,yes,yes", "8,no,yes", "4,yes,")


@pytest.fixture
def table(tmp_path):
    def write(*rows, head="days,gone,found", encoding="utf-8"):
        path = tmp_path / "trial.csv"
        path.write_text("\n".join([head, *rows]) + "\n", encoding=encoding)
        return path

    return write


def test_a_trial_is_fitted_as_by_hand(table):
    # 20 days watched and 4 gone: 5 days, error 5 / sqrt(4); 3 of 4 found: (3 + .5) / (4 + 1) under Jeffreys' prior.
    trial = read_carcass_trial(table(*ROWS)).trial(7.0)
    assert (trial.persistence_days, trial.persistence_days_se) == (5.0, 2.5)
    assert trial.found_share == pytest.approx(0.7)
    assert trial.found_share_se == pytest.approx(np.sqrt(0.7 * 0.3 / 6.0))  # spread of a beta of 3.5 and 1.5
    assert trial.days_between_searches == 7.0


def test_carcasses_that_nobody_searched_for_count_for_persistence_alone(table):
    read = read_carcass_trial(table(*ROWS))
    assert (len(read.days), read.n_found, read.n_searched) == (5, 3, 4)


def test_semicolons_decimal_commas_and_other_columns_are_read(table):
    read = read_carcass_trial(table("a;2,5;Yes;NO", "b;1;no;", head="Carcass;Days;Gone;Found"))
    assert read.days.tolist() == [2.5, 1.0]
    assert read.is_gone.tolist() == [True, False]
    assert (read.n_found, read.n_searched) == (0, 1)


def test_a_mark_before_the_heading_is_no_part_of_it(table):
    assert len(read_carcass_trial(table(*ROWS, encoding="utf-8-sig")).days) == 5


@given(st.lists(st.tuples(st.integers(0, 60), st.booleans(), st.sampled_from(["yes", "no", ""])), min_size=1))
def test_every_row_is_counted(tmp_path_factory, rows):
    path = tmp_path_factory.mktemp("trial") / "trial.csv"
    lines = [f"{days},{'yes' if gone else 'no'},{found}" for days, gone, found in rows]
    path.write_text("\n".join(["days,gone,found", *lines]), encoding="utf-8")
    read = read_carcass_trial(path)
    assert read.days.tolist() == [days for days, _, _ in rows]
    assert read.is_gone.tolist() == [gone for _, gone, _ in rows]
    assert read.n_found == sum(found == "yes" for _, _, found in rows)
    assert read.n_searched == sum(found != "" for _, _, found in rows)


def test_carcasses_that_stay_and_are_always_found_need_hardly_a_factor(table):
    trial = read_carcass_trial(table("900,yes,yes", *["900,no,yes"] * 400)).trial(1.0)
    assert float(recorded_share(trial.persistence_days, trial.found_share, 1.0)) == pytest.approx(1.0, abs=0.005)


@pytest.mark.parametrize(
    ("row", "what"),
    [
        ("soon,yes,yes", "line 2: days 'soon' is not a number of days"),
        ("-1,yes,yes", "line 2: days '-1'"),
        ("nan,yes,yes", "line 2: days 'nan'"),
        ("3,,yes", "line 2: gone is blank"),
        ("3,maybe,yes", "line 2: gone 'maybe' is neither yes nor no"),
        ("3,yes,perhaps", "line 2: found 'perhaps' is neither yes nor no"),
        ("3", "line 2: gone is blank"),
    ],
)
def test_a_cell_that_does_not_fit_is_named(table, row, what):
    with pytest.raises(UnfitFileError, match=what):
        read_carcass_trial(table(row))


def test_a_table_without_its_headings_or_rows_says_what_is_expected(table):
    for path in (table("2,yes,yes", head="time,gone,found"), table()):
        with pytest.raises(UnfitFileError, match="expected the headings days,gone,found and a row a carcass"):
            read_carcass_trial(path)


def test_a_file_that_is_missing_or_no_text_is_named(tmp_path):
    with pytest.raises(UsageError, match=r"gone\.csv does not exist"):
        read_carcass_trial(tmp_path / "gone.csv")
    (tmp_path / "latin.csv").write_bytes(b"days,gone,found\n2,yes,s\xed\n")
    with pytest.raises(UnfitFileError, match="not text in UTF-8"):
        read_carcass_trial(tmp_path / "latin.csv")


@pytest.mark.parametrize(
    ("rows", "what"),
    [(("2,no,yes", "3,no,no"), "every carcass outlasted it"), (("2,yes,", "3,yes,"), "0 of 0 found")],
)
def test_a_trial_that_tells_nothing_is_refused(table, rows, what):
    with pytest.raises(UsageError, match=what):
        read_carcass_trial(table(*rows)).trial(7.0)
