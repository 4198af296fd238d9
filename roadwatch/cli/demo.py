"""``roadwatch demo``."""

from __future__ import annotations

import shlex
import tomllib
from importlib.resources import files
from pathlib import Path

import click

from roadwatch.errors import SOME_ROWS_HELD_BACK, UnfitFileError


def county_folder(name: str) -> Path:
    """
    The folder ``demo`` or ``layers`` of the invented county: inside an installed package, or beside it in a checkout.

    Raises
    ------
    UnfitFileError
        The installation lacks the folder.
    """
    packaged = Path(str(files("roadwatch"))) / "data" / name
    beside = Path(str(files("roadwatch"))).parent / name
    for folder in (packaged, beside):
        if folder.is_dir():
            return folder
    raise UnfitFileError(f"the demo's folder '{name}' is missing from this installation; install roadwatch again")


def relative(path: Path) -> str:
    """The path as a reader would type it from here."""
    return str(path.relative_to(Path.cwd())) if path.is_relative_to(Path.cwd()) else str(path)


@click.command("demo")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False), default=Path("maps"))
@click.pass_context
def command(ctx: click.Context, folder: Path) -> None:
    """
    Run the whole job on an invented county: season file, tables and maps are written to FOLDER (default: maps).

    Every command is shown as it runs, so that it can be repeated by hand. The demo's own files in FOLDER are replaced.

    Example: roadwatch demo
    """
    from roadwatch.cli import main

    demo, layers = county_folder("demo"), county_folder("layers")
    plan = tomllib.loads((demo / "steps.toml").read_text(encoding="utf-8"))
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "demo_season.gpkg").unlink(missing_ok=True)
    places = {"demo": relative(demo), "layers": relative(layers), "out": relative(folder.absolute())}
    for step in plan["steps"]:
        args = [part.format(**places) for part in step["args"]]
        click.echo(f"\n# {step['says']}\n$ roadwatch {shlex.join(args)}")
        code = main.main(args=args, prog_name="roadwatch", standalone_mode=False) or 0
        if code not in {0, SOME_ROWS_HELD_BACK}:
            click.echo(f"The demo stopped: that command ended with code {code}.", err=True)
            ctx.exit(code)
    click.echo(
        f"\nDone. Everything above is invented. Open the maps in {folder} by double click; no network is needed."
    )
