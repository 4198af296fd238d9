"""What became of a record, read from top to bottom."""

from roadwatch.records.store import Season


def test_the_history_shows_file_line_wording_and_corrections(county, crossing):
    county.ingest("a.csv", [crossing(0.01)])
    county.run("amend", county.season, "c0.010000", "condition=alive", "--why", "it moved", "--who", "Ana")
    lines = county.run("history", county.season, "c0.010000").output.splitlines()
    assert lines[0] == "c0.010000: one of the crossings"
    assert lines[1].endswith("  batch 1, a.csv, line 2")
    assert lines[2] == "    " + (county.folder / "a.csv").read_text("utf-8").splitlines()[1]
    assert lines[-1].endswith("  Ana: condition was dead, is now alive: it moved")


def test_remarks_are_told(county, crossing):
    county.ingest("a.csv", [crossing(latitude=31.72)])
    told = county.run("history", county.season, "c0.010000").output
    assert "remark on batch 1, line 2: not placed on a road" in told


def test_a_record_that_left_is_told_with_who_undid_its_batch_and_why(county, crossing):
    county.ingest("a.csv", [crossing(0.01)])
    county.run("amend", county.season, "c0.010000", "condition=alive", "--why", "x")
    county.run("undo", county.season, 1, "--why", "wrong county", "--who", "Ben")
    told = county.run("history", county.season, "c0.010000").output
    assert "which left the season with its batch" in told
    assert "batch 1 undone by Ben (wrong county)" in told
    assert "(no longer holds since " in told


def test_json_holds_every_part(county, crossing):
    county.ingest("a.csv", [crossing(0.01)])
    told = county.json("history", county.season, "c0.010000")
    assert (told["kind"], told["is_stored"], len(told["sources"])) == ("crossings", True, 1)
    assert {"sources", "changes", "remarks", "withdrawn"} <= set(told)


def test_a_record_without_a_name_of_its_own_has_a_history_too(county, crossing):
    county.ingest("a.csv", [crossing(record_id="")])
    (name,) = Season.open(county.season).known("crossings")
    assert county.json("history", county.season, name)["sources"][0]["file_name"] == "a.csv"


def test_an_unknown_record_is_told_with_exit_code_2(county):
    result = county.run("history", county.season, "c9")
    assert result.exit_code == 2
    assert "holds no record 'c9'" in result.output


def test_the_id_of_a_row_held_back_tells_what_became_of_it(county, crossing):
    county.ingest("a.csv", [crossing(0.01), crossing(0.02, latitude="?")])
    county.run("problems", county.season, "--discard", "h1-3", "--who", "Ana", "--why", "no place")
    lines = county.run("history", county.season, "h1-3").output.splitlines()
    assert lines[0] == "h1-3: batch 1, a.csv, line 3: discarded"
    assert lines[1].strip().startswith("c0.020000,")
    assert lines[2].startswith("held back because: latitude '?'")
    assert lines[3].endswith("Ana: was open, is now discarded: no place")
    told = county.json("history", county.season, "h1-3")
    assert (told["now"], told["changes"][0]["why"]) == ("discarded", "no place")


def test_a_row_that_was_never_held_back_is_told_with_exit_code_2(county):
    result = county.run("history", county.season, "h9-9")
    assert result.exit_code == 2
    assert "no row held back is called 'h9-9'" in result.output
