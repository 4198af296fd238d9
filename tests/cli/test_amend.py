"""Correcting a record from the command line."""

import pytest

from roadwatch.records.store import Season


@pytest.fixture
def told(county, crossing):
    county.ingest("c.csv", [crossing(0.01)])
    return county


def amend(county, *args):
    return county.run("amend", county.season, *args)


def test_each_field_is_told_before_and_after(told):
    result = amend(told, "c0.010000", "condition=injured", "carapace_mm=110", "--why", "seen again")
    assert result.exit_code == 0
    assert result.output.splitlines()[:2] == [
        "c0.010000: condition was dead, is now injured",
        "c0.010000: carapace_mm was blank, is now 110.0",
    ]


def test_who_and_why_are_kept(told):
    amend(told, "c0.010000", "condition=injured", "--why", "seen again", "--who", "Ana")
    (change,) = Season.open(told.season).changes().to_dict("records")
    assert (change["who"], change["why"]) == ("Ana", "seen again")


def test_a_value_may_hold_an_equals_sign(told):
    amend(told, "c0.010000", "notes=a=b", "--why", "x")
    assert Season.open(told.season).read("crossings")["notes"].tolist() == ["a=b"]


def test_json_tells_the_same(told):
    result = told.json("amend", told.season, "c0.010000", "condition=injured", "--why", "x")
    assert result["changed"] == [{"field": "condition", "old": "dead", "new": "injured"}]
    assert (result["kind"], result["record_id"]) == ("crossings", "c0.010000")


def test_nothing_to_change_is_said(told):
    assert "it says so already; nothing changed" in amend(told, "c0.010000", "condition=dead", "--why", "x").output


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["c0.010000", "condition", "--why", "x"], "'condition' sets no field; write FIELD=VALUE"),
        (["c0.010000", "=dead", "--why", "x"], "sets no field"),
        (["c0.010000", "condition=dead"], "--why"),
        (["c0.010000", "--why", "x"], "FIELD=VALUE"),
        (["c9", "condition=dead", "--why", "x"], "holds no record 'c9'"),
        (["c0.010000", "condition=flat", "--why", "x"], "condition 'flat' is not known; write one of alive"),
        (["c0.010000", "condition=dead", "--why", "x", "--as", "nests"], "among its nests"),
    ],
)
def test_a_wrong_call_is_told_with_exit_code_2(told, args, words):
    result = amend(told, *args)
    assert result.exit_code == 2
    assert words in result.output
    assert "Traceback" not in result.output
