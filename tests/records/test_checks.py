import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from records.record_cases import TIMEZONE, context, raw, typed

from roadwatch.records.checks import accept_rows, check_records, rules_of
from roadwatch.records.fields import RECORD_KINDS
from roadwatch.records.tables import RawTable, RowFault


def accept(table, kind="crossings", **surroundings):
    return accept_rows(table, kind, timezone=TIMEZONE, context=context(**surroundings))


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_a_sound_row_of_every_kind_is_accepted_without_a_word(kind):
    accepted = accept(raw(kind), kind)
    assert len(accepted.table) == 1
    assert accepted.faults == []
    assert check_records(typed(kind), kind, context()) == []


@pytest.mark.parametrize("kind", ["crossings", "nests", "checks", "searches", "temperatures"])
def test_the_rules_of_a_kind_can_be_read_with_their_severity_and_cure(kind):
    assert rules_of(kind)
    for one in rules_of(kind):
        assert kind in one.kinds
        assert one.severity in ("hold back", "ask", "note")
        assert one.cure


def test_a_row_is_told_once_all_that_is_wrong_with_it_in_reading_and_in_checking():
    change = {"observed_at": "2031-05-01", "latitude": "0", "longitude": "0", "taxon": "raccoon"}
    (fault,) = accept(raw("crossings", change)).faults
    assert fault.column == "taxon, longitude, observed_at"
    for part in ("'raccoon' is not in the table", "lies after today, 2026-06-01", "has no position"):
        assert part in fault.reason
    assert fault.severity == "hold back"


def test_a_row_that_is_asked_about_is_accepted():
    accepted = accept(raw("crossings", {"carapace_mm": "700"}))
    assert len(accepted.table) == 1
    assert accepted.held_back == []
    assert [fault.severity for fault in accepted.faults] == ["ask"]


def test_a_question_does_not_soften_what_holds_back():
    accepted = accept(raw("crossings", {"carapace_mm": "700", "observed_at": "2031-05-01"}))
    assert [fault.severity for fault in accepted.faults] == ["hold back"]
    assert "Also: " in accepted.faults[0].reason


def test_faults_that_the_reader_found_are_handed_on():
    broken = RowFault("crossings.csv", 9, "a;b", "", "a;b", "the line has too few cells; check its separators")
    accepted = accept(raw("crossings", faults=(broken,)))
    assert accepted.held_back == [broken]


def test_checking_keeps_to_the_lines_of_the_table_whatever_its_index():
    table = typed("crossings", {}, {"observed_at": "2031-05-01"}, {})
    table.index = [7, 7, 2]
    assert [fault.line for fault in check_records(table, "crossings", context())] == [3]


def test_today_is_what_the_caller_says():
    table = typed("crossings", {"observed_at": "2025-05-12"})
    assert check_records(table, "crossings", context()) == []
    yesterday = context().today.replace(year=2024)
    assert len(check_records(table, "crossings", context(today=yesterday))) == 1


@given(
    st.lists(
        st.fixed_dictionaries(
            {
                "observed_at": st.sampled_from(["2025-05-12", "2031-01-01", "6/8/2025", ""]),
                "latitude": st.sampled_from(["29.6", "-82.3", "0", "N45"]),
                "longitude": st.sampled_from(["-82.3", "82.3", "29.6", "0"]),
                "carapace_mm": st.sampled_from(["", "10", "700", "900"]),
            }
        ),
        min_size=1,
        max_size=8,
    )
)
@settings(max_examples=40, deadline=None)
def test_every_row_is_accepted_or_held_back_and_told_at_most_once(changes):
    accepted = accept(raw("crossings", *changes))
    held = [fault.line for fault in accepted.held_back]
    assert sorted([*accepted.table["line"], *held]) == list(range(2, len(changes) + 2))
    assert len({fault.line for fault in accepted.faults}) == len(accepted.faults)


def test_a_date_that_could_not_be_read_is_not_called_missing_as_well():
    columns = {"station": ["S"] * 2, "kind": ["air"] * 2, "date": ["05/06/2025", None], "tmin_c": ["1", "1"]}
    raw = RawTable.of_columns("t.csv", columns)
    held = accept_rows(raw, "temperatures", timezone=TIMEZONE, context=context()).held_back
    assert "can be 2025-05-06 or 2025-06-05" in held[0].reason
    assert "missing" not in held[0].reason
    assert held[1].reason.startswith("date and at are both missing")
