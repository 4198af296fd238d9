"""The demo is the whole job: it shows every command, finds what was planted, and loses nothing."""

import csv
import re
import shlex
from pathlib import Path

import pytest
from tiny_county import County

from roadwatch.records.store import Season

FILES = [
    "demo_season.gpkg",
    "demo_hotspots.csv",
    "demo_hotspots.txt",
    "demo_windows_team_only.txt",
    "demo_windows_team_only.csv",
    "demo_public.html",
    "demo_team_only.html",
    "demo_fences.csv",
    "demo_fences.txt",
    "demo_fences.html",
    "demo_rounds_team_only.html",
    "demo_form.html",
    "demo_report.html",
]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    county = County(tmp_path_factory.mktemp("demo"))
    result = county.run("demo", county.folder)
    assert result.exit_code == 0, result.output
    return county, result.output


def test_everything_promised_is_written(demo):
    county, _ = demo
    assert sorted(path.name for path in county.folder.iterdir()) == sorted(FILES)


def test_every_command_shown_can_be_repeated(demo, tmp_path):
    county, said = demo
    commands = [shlex.split(line[2:]) for line in said.splitlines() if line.startswith("$ roadwatch ")]
    assert [args[1] for args in commands[:2]] == ["new", "layer"]
    for args in commands:
        repeated = [arg.replace(str(county.folder), str(tmp_path)) for arg in args[1:]]
        assert County(tmp_path).run(*repeated).exit_code in {0, 3}
    for name in (
        "demo_hotspots.csv",
        "demo_public.html",
        "demo_fences.csv",
        "demo_fences.html",
        "demo_form.html",
        "demo_report.html",
    ):
        assert (tmp_path / name).read_bytes() == (county.folder / name).read_bytes(), "equal seeds give equal bytes"


def test_the_planted_hotspots_are_found_first(demo):
    county, _ = demo
    rows = list(csv.DictReader((county.folder / "demo_hotspots.csv").read_text("utf-8").splitlines()))
    planted = ["State Route 1907", "Ellickmere Mill Road", "Lornby Road"]  # demo/README.md, invented
    assert sorted(row["road"] for row in rows[:3]) == sorted(planted)


def test_the_rows_held_back_are_those_made_faulty(demo):
    county, _ = demo
    readme = (Path(__file__).parents[2] / "demo" / "README.md").read_text("utf-8")
    table = readme[readme.index("## Deliberate faults") :]
    made = {
        (name, int(line))
        for name, line in re.findall(r"^\| `([\w.]+)` \| (\d+) \|.*\| held back \|$", table, flags=re.MULTILINE)
    }
    held = Season.open(county.season.with_name("demo_season.gpkg")).held_back()
    assert set(zip(held["file_name"], held["line"].astype(int), strict=True)) == made


def test_the_public_page_holds_no_place_of_a_nest(demo):
    county, _ = demo
    nests = Season.open(county.season.with_name("demo_season.gpkg")).read("nests")
    page = (county.folder / "demo_public.html").read_text("utf-8")
    team = (county.folder / "demo_team_only.html").read_text("utf-8")
    assert nests["nest_id"].iloc[0] in team, "the team's page does name nests: the check below could fail"
    assert not [name for name in nests["nest_id"] if name in page]


def test_the_demo_can_be_run_again_in_the_same_folder(demo):
    county, _ = demo
    assert county.run("demo", county.folder).exit_code == 0
