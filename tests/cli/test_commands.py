"""Every command is documented, explains itself with an example, and answers mistakes with one line and a cure."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from roadwatch.cli import COMMANDS, load, main

ROOT = Path(__file__).parents[2]


def run(*args: str):
    return CliRunner().invoke(main, list(args))


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_has_help_with_an_example(name):
    result = run(name, "--help")
    assert result.exit_code == 0
    assert re.search(rf"Example:\s+roadwatch\s+{name}", result.output)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_in_the_readme_or_the_developers_guide(name):
    text = (ROOT / "README.md").read_text("utf-8") + (ROOT / "DEVELOPERS.md").read_text("utf-8")
    assert f"roadwatch {name}" in text


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_is_explained(name):
    options = [p for p in load(name).params if p.param_type_name == "option"]
    assert not [option.name for option in options if not option.help]


def test_a_misspelt_command_gets_a_proposal():
    result = run("hotspot")
    assert result.exit_code == 2
    assert "hotspots" in result.output


@pytest.mark.parametrize("name", ["ingest", "problems", "hotspots", "hatch"])
def test_a_missing_season_is_named_with_exit_code_2(name, tmp_path):
    extra = {"ingest": [str(tmp_path / "a.csv")], "hatch": ["--as-of", "2025-07-15"]}.get(name, [])
    result = run(name, str(tmp_path / "none.gpkg"), *extra)
    assert result.exit_code == 2
    assert "none.gpkg" in result.output
    assert "Traceback" not in result.output


def test_a_wrong_day_says_how_a_day_is_written(tmp_path):
    result = run("hatch", str(tmp_path / "s.gpkg"), "--as-of", "15/07/2025")
    assert result.exit_code == 2
    assert "YYYY-MM-DD" in result.output


def test_wrong_years_say_how_years_are_written(tmp_path):
    result = run("hotspots", str(tmp_path / "s.gpkg"), "--years", "2025-2022")
    assert result.exit_code == 2
    assert "2022-2025" in result.output


def test_a_fault_of_ours_is_owned_with_exit_code_1(monkeypatch, tmp_path):
    def broken(_):
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr("roadwatch.records.store.Season.open", broken)
    result = run("problems", str(tmp_path / "s.gpkg"))
    assert result.exit_code == 1
    assert "fault of the program" in result.output
