"""The house keeps its shape: imports go down, libraries stay in their room, only the command line has a clock."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "roadwatch"
FOUNDATION = {"errors", "units", "sources"}
RESULTS = {"records", "identify", "roads", "hotspots", "siting", "hatch", "rounds"}
MAY_IMPORT = {  # room: the rooms it may import from, besides the foundation
    "errors": set(),
    "units": set(),
    "sources": set(),
    "records": set(),
    "identify": {"records"},
    "roads": {"records"},
    "hotspots": {"roads", "identify", "records"},
    "hatch": {"records", "identify"},
    "siting": {"hotspots", "roads", "identify", "records"},
    "rounds": {"hatch", "roads", "identify", "records"},
    "share": RESULTS,
    "season": RESULTS | {"share"},
    "render": RESULTS | {"share"},
    "cli": RESULTS | {"share", "season", "render"},
}
ONLY_IN = {"folium": "render/page.py", "branca": "render/", "click": "cli/", "sqlite3": "records/"}
FILES = sorted(ROOT.rglob("*.py"))


def room_of(path: Path) -> str:
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def imported(path: Path) -> list[str]:
    names = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.append(node.module)
    return names


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_go_down_only(path):
    room = room_of(path)
    if room.startswith("__"):
        return
    allowed = MAY_IMPORT[room] | FOUNDATION | {room}
    wrong = [name for name in imported(path) if name.startswith("roadwatch.") and name.split(".")[1] not in allowed]
    assert not wrong


@pytest.mark.parametrize("library", ONLY_IN)
def test_a_library_stays_in_its_room(library):
    users = {
        str(path.relative_to(ROOT)) for path in FILES if library in {name.split(".")[0] for name in imported(path)}
    }
    assert users, "the rule has nothing to guard"
    assert all(user.startswith(ONLY_IN[library]) for user in users)


def calls(path: Path) -> list[str]:
    return [
        ast.unparse(node.func) for node in ast.walk(ast.parse(path.read_text("utf-8"))) if isinstance(node, ast.Call)
    ]


@pytest.mark.parametrize("path", [p for p in FILES if room_of(p) != "cli"], ids=lambda p: str(p.relative_to(ROOT)))
def test_nothing_below_the_command_line_prints_or_reads_a_clock(path):
    clocks = {"print", "date.today", "datetime.now", "datetime.today", "time.time", "datetime.date.today"}
    assert not clocks & set(calls(path))
    assert not [name for name in calls(path) if name.startswith(("np.random.seed", "random."))]


def test_top_level_holds_what_the_readme_promises_and_nothing_else():
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "roadwatch", "layers", "demo", "tests", "maps"}
    present = {entry.name for entry in ROOT.parent.iterdir() if not entry.name.startswith(".")}
    assert present <= allowed
