"""``roadwatch doubles``: a table to read, one JSON object, or a file."""

import csv

import pytest


@pytest.fixture
def twice(county, crossing):
    """A season in which one carcass was recorded by two people, and others by one."""
    lonely = [
        crossing(-0.045 + 0.002 * k, record_id=f"l{k}", observed_at=f"2025-0{4 + k % 5}-{3 + k:02d}") for k in range(12)
    ]
    rows = [
        crossing(0.03, record_id="a1", observed_at="2025-05-12", observer="Ann"),
        crossing(0.03005, record_id="b1", observed_at="2025-05-12", observer="Bea"),
    ]
    county.ingest("c.csv", [*lonely, *rows])
    return county


def test_the_table_names_records_probability_and_reasons(twice):
    result = twice.run("doubles", twice.season)
    assert result.exit_code == 0
    assert "a1" in result.stdout
    assert "5 m apart" in result.stdout
    assert "1 record merged as doubles into 1 animal (" in result.stdout
    assert "counted as separate animals" in result.stdout


def test_json_is_one_object_with_every_column(twice):
    told = twice.json("doubles", twice.season)
    (pair,) = told["doubles"]
    assert set(pair) == {"double_id", "record_a", "record_b", "p", "reasons", "merged", "decided"}
    assert {pair["record_a"], pair["record_b"]} == {"a1", "b1"}
    assert pair["merged"] is True
    assert 0.95 <= pair["p"] <= 1
    assert len(told["notes"]) == 2


def test_a_file_holds_the_same_rows(twice):
    path = twice.folder / "doubles.csv"
    result = twice.run("doubles", twice.season, "-o", path)
    assert result.exit_code == 0
    text = path.read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    assert [{row["record_a"], row["record_b"]} for row in rows] == [{"a1", "b1"}]


def test_a_season_without_doubles_says_so(county, crossing):
    county.ingest("c.csv", [crossing(0.01), crossing(0.03)])
    told = county.json("doubles", county.season)
    assert told["doubles"] == []
    assert told["notes"][0].startswith("0 records merged")


def test_a_season_that_is_not_there_is_named(folder):
    result = folder.run("doubles", folder.season)
    assert result.exit_code == 2
    assert "season.gpkg" in result.output


def pair(county):
    return county.json("doubles", county.season)["doubles"][0]


def test_a_person_decides_a_pair_and_the_list_says_so(twice):
    name = pair(twice)["double_id"]
    result = twice.run("doubles", twice.season, "--different", name, "--who", "Ana", "--why", "two shells in one photo")
    assert result.exit_code == 0
    assert result.output.splitlines()[0] == f"{name}: a1 and b1 are different animals"
    assert "0 records merged" in result.output
    told = twice.run("doubles", twice.season).output
    assert "decided: different animals, by Ana on 20" in told
    assert "two shells in one photo; 5 m apart" in told
    assert pair(twice)["merged"] is False


def test_a_decision_is_given_as_json_and_taken_back(twice):
    told = twice.json("doubles", twice.season, "--same", "a1,l3", "--same", "l3,l4", "--why", "notched shell")
    assert told["word"] == "one animal"
    assert [set(one["records"]) for one in told["decided"]] == [{"a1", "l3"}, {"l3", "l4"}]
    assert "A person decided 2 pairs: 2 as one animal, 0 as different animals." in told["notes"][0]
    result = twice.run("doubles", twice.season, "--undecided", "l3,a1", "--undecided", "l3,l4", "--why", "a slip")
    assert "are undecided again" in result.output
    assert "A person decided" not in twice.run("doubles", twice.season).output


def test_the_history_of_either_record_tells_the_decision(twice):
    twice.run("doubles", twice.season, "--same", "a1,l3", "--who", "Ana", "--why", "notched shell")
    for one, other in (("a1", "l3"), ("l3", "a1")):
        told = twice.run("history", twice.season, one).output
        assert f"Ana: same animal as {other} was undecided, is now yes: notched shell" in told


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("--same", "a1,b1"), "and the reason with --why"),
        (("--same", "a1,b1", "--different", "a1,l3", "--why", "x"), "give one of --same, --different, --undecided"),
        (("--same", "d0000000000", "--why", "x"), "is no double of this season"),
        (("--undecided", "a1,b1", "--why", "x"), "nobody decided about a1 and b1"),
    ],
)
def test_a_wrong_decision_is_told_with_exit_code_2(twice, args, words):
    result = twice.run("doubles", twice.season, *args)
    assert result.exit_code == 2
    assert words in result.output
    assert "Traceback" not in result.output


def test_ingest_ends_with_the_doubles_of_the_season_and_where_to_look(twice, crossing):
    result = twice.ingest("more.csv", [crossing(0.001, record_id="z", observed_at="2025-09-09")])
    assert result.output.splitlines()[-1].endswith(f"see 'roadwatch doubles {twice.season}'")
    assert "1 pair of records in the season is merged as one animal, none is undecided" in result.output
    path = twice.write_csv("one more.csv", [crossing(0.002, record_id="y", observed_at="2025-09-10")])
    assert twice.json("ingest", twice.season, path)["doubles"] == {"merged": 1, "undecided": 0}


def test_ingest_speaks_of_doubles_only_where_crossings_came_in(twice, crossing):
    again = twice.run("ingest", twice.season, twice.folder / "c.csv")
    dry = twice.ingest("more.csv", [crossing(0.001, record_id="z", observed_at="2025-09-09")], "--dry-run")
    assert "roadwatch doubles" not in again.output + dry.output
    assert twice.json("ingest", twice.season, twice.folder / "c.csv")["doubles"] is None
