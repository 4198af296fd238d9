from roadwatch.records.complaints import Complaint, held_rows, row_faults

WHERE = {"sources": ["a.csv"] * 3, "lines": [2, 3, 5], "originals": ["one", "two", "three"]}


def test_the_reasons_of_a_row_are_told_together_and_the_gravest_counts():
    faults = row_faults(
        [
            Complaint(2, "taxon", "slider?", "taxon 'slider?' is doubtful", "note"),
            Complaint(2, "latitude", "N45", "latitude 'N45' is not a number"),
            Complaint(0, "sex", "x", "sex 'x' is odd", "ask"),
        ],
        **WHERE,
    )
    assert [(fault.line, fault.severity) for fault in faults] == [(2, "ask"), (5, "hold back")]
    assert faults[1].reason == "latitude 'N45' is not a number. Also: taxon 'slider?' is doubtful"
    assert (faults[1].column, faults[1].found, faults[1].original) == ("latitude, taxon", "N45, slider?", "three")


def test_a_question_counts_more_than_a_note():
    (fault,) = row_faults([Complaint(1, "a", "x", "n", "note"), Complaint(1, "b", "y", "q", "ask")], **WHERE)
    assert fault.severity == "ask"


def test_only_complaints_that_hold_back_hold_a_row():
    complaints = [Complaint(0, "", "", "n", "note"), Complaint(1, "", "", "a", "ask"), Complaint(2, "", "", "h")]
    assert held_rows(complaints) == {2}


def test_no_complaints_are_no_faults():
    assert row_faults([], **WHERE) == []
