"""The script makes the committed files again, and every file says that it is invented."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

WRITTEN_BY_HAND = {"steps.toml"}
LARGEST_TOTAL_BYTES = 3_000_000


def data_files(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir() if p.is_file() and p.suffix != ".py"}


def test_the_script_writes_the_committed_files_again_byte_for_byte(demo: Path, layers: Path, made_again: Path) -> None:
    for committed in (demo, layers):
        again = made_again / committed.name
        different = [p.name for p in again.iterdir() if p.read_bytes() != (committed / p.name).read_bytes()]
        assert different == []


def test_no_data_file_stands_in_the_folders_that_the_script_does_not_write(
    demo: Path, layers: Path, made_again: Path
) -> None:
    assert data_files(demo) - WRITTEN_BY_HAND == data_files(made_again / "demo")
    assert data_files(layers) - {"README.md"} == data_files(made_again / "layers")


def test_the_data_stay_below_three_megabytes_together(demo: Path, layers: Path) -> None:
    assert sum(p.stat().st_size for folder in (demo, layers) for p in folder.iterdir()) < LARGEST_TOTAL_BYTES


def test_every_file_says_that_it_is_invented(demo: Path, layers: Path) -> None:
    silent = [
        path.name
        for folder in (demo, layers)
        for path in folder.iterdir()
        if path.is_file() and path.suffix != ".py" and "invented" not in path.read_text(encoding="utf-8-sig").lower()
    ]
    assert silent == ["station.dly"]  # fixed columns leave no room for a remark; its station is called INV


def test_the_station_without_room_for_a_remark_is_called_invented_in_its_id(demo: Path) -> None:
    lines = (demo / "station.dly").read_text(encoding="ascii").splitlines()
    assert {line[:11] for line in lines} == {"USX000INV01"}


@pytest.mark.parametrize("name", ["crossings_2022.csv", "nests.csv", "nest_checks.csv", "searches_2022.csv"])
def test_every_row_of_a_table_says_that_it_is_invented(demo: Path, name: str) -> None:
    rows = (demo / name).read_text(encoding="utf-8").splitlines()[1:]
    assert [row for row in rows if "invented" not in row] == []


def test_no_coordinate_has_more_than_six_decimals(demo: Path, layers: Path) -> None:
    for path in [*layers.glob("*.geojson"), *demo.glob("*.geojson"), *demo.glob("*.gpx")]:
        assert re.findall(r"-?\d+\.\d{7,}", path.read_text(encoding="utf-8")) == []


def test_the_steps_name_files_that_exist_and_use_known_places_only(demo: Path, layers: Path) -> None:
    steps = tomllib.loads((demo / "steps.toml").read_text(encoding="utf-8"))["steps"]
    words = [word for step in steps for word in step["args"]]
    places = {"demo": demo, "layers": layers}
    named = [re.fullmatch(r"\{(demo|layers)\}/(.+)", word) for word in words if "{out}" not in word and "{" in word]
    assert all(match and (places[match[1]] / match[2]).is_file() for match in named)
    assert all(step["says"] for step in steps)


def test_the_steps_take_in_every_data_file_of_both_folders(demo: Path, layers: Path) -> None:
    steps = tomllib.loads((demo / "steps.toml").read_text(encoding="utf-8"))["steps"]
    words = {word.rpartition("/")[2] for step in steps for word in step["args"]}
    assert (data_files(demo) | data_files(layers)) - words == {"README.md", "steps.toml"}


def test_the_steps_run_from_a_new_season_to_maps_plans_and_a_form(demo: Path) -> None:
    steps = tomllib.loads((demo / "steps.toml").read_text(encoding="utf-8"))["steps"]
    verbs = [step["args"][0] for step in steps]
    in_order = ["new", "layer", "ingest", "problems", "hotspots", "hatch", "site", "map", "rounds", "report", "form"]
    assert list(dict.fromkeys(verbs)) == in_order
    maps = [step["args"] for step in steps if step["args"][0] == "map"]
    assert [args[args.index("--for") + 1] for args in maps] == ["public", "team"]


def test_the_readme_counts_the_rows_of_each_file_right(demo: Path) -> None:
    told = dict(
        re.findall(r"^\| `([\w.]+\.csv)` \| (\d+) \| [^|]+ \|$", (demo / "README.md").read_text("utf-8"), re.MULTILINE)
    )
    for name, n_rows in told.items():
        n_head = 2 if name.startswith("logger") else 1
        assert len((demo / name).read_text(encoding="utf-8-sig").splitlines()) - n_head == int(n_rows)
    assert len(told) == 12
