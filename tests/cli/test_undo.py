"""Taking back what a file told, from the command line."""

from roadwatch.records.store import Season


def test_undo_says_what_left_and_what_stayed(county, crossing):
    county.ingest("a.csv", [crossing(0.01), crossing(0.02), crossing(0.04, latitude="?")])
    county.ingest("b.csv", [crossing(0.02), crossing(0.03)])
    result = county.run("undo", county.season, 1)
    assert result.exit_code == 0
    assert result.output.splitlines() == [
        "batch 1 (a.csv) undone: 1 record left the season",
        "- kept because another file tells of them: 1 record",
        "- no longer waiting for a cure: 1 row of it held back",
    ]
    assert sorted(Season.open(county.season).read("crossings")["record_key"]) == ["c0.020000", "c0.030000"]


def test_without_a_number_the_batches_are_listed(county, crossing):
    county.ingest("a.csv", [crossing(0.01)])
    county.run("undo", county.season, 1)
    county.ingest("b.csv", [crossing(0.02)])
    header, first, second = county.run("undo", county.season).output.splitlines()
    assert header.split()[:3] == ["batch", "file_name", "kind"]
    assert first.split()[:3] == ["1", "a.csv", "crossings"]
    assert second.split()[:3] == ["2", "b.csv", "crossings"]
    batches = county.json("undo", county.season)["batches"]
    assert [one["undone_at"] is None for one in batches] == [False, True]


def test_json_counts_the_same(county, crossing):
    county.ingest("a.csv", [crossing(0.01)])
    done = county.json("undo", county.season, 1, "--why", "x")
    assert {name: done[name] for name in ("batch", "file_name", "kind", "withdrawn", "kept")} == {
        "batch": 1,
        "file_name": "a.csv",
        "kind": "crossings",
        "withdrawn": 1,
        "kept": 0,
    }


def test_undoing_twice_and_a_batch_that_is_none_are_told_with_exit_code_2(county, crossing):
    county.ingest("a.csv", [crossing(0.01)])
    county.run("undo", county.season, 1)
    for batch, words in ((1, "was undone already, by coordinator"), (9, "holds no batch 9"), (0, "0 is not in")):
        result = county.run("undo", county.season, batch)
        assert result.exit_code == 2
        assert words in result.output
