"""The command line: one table of commands, each imported only when it runs."""

from __future__ import annotations

import os
from importlib import import_module

import click

from roadwatch import __version__
from roadwatch.errors import RoadwatchError

COMMANDS = {
    "new": "Start a season file from a roads layer.",
    "layer": "Add or replace water, protected land, measures or another map layer.",
    "ingest": "Read, check and keep files of records.",
    "problems": "List the rows held back, with reason, original text and cure; accept what is proposed.",
    "amend": "Correct fields of one record, with who, when and why.",
    "history": "Tell where a record came from and what was corrected in it.",
    "undo": "Take back what a file told; without a number, list what was read in.",
    "doubles": "List the records that may be one animal, with probability and reasons.",
    "fields": "Explain the columns of a kind of record, or the characters of turtles.",
    "template": "Print an empty CSV to fill in.",
    "identify": "Say what a turtle may be, how surely, and what to look at next.",
    "calibration": "Tell whether 80 % sure was right 80 % of the time.",
    "hotspots": "Rank the road stretches where turtles die.",
    "site": "Choose where to fence: the runs that avert most deaths within a budget.",
    "signs": "Propose where and when a warning sign stands before each hotspot.",
    "evaluate": "Tell whether a fence, a sign or another measure lowered the deaths.",
    "hatch": "Give each nest its window of hatching days.",
    "hindcast": "Tell how often past windows would have held.",
    "sex-ratio": "Give each nest the share of females that its warmth makes likely.",
    "rounds": "Plan who visits which nest on which day.",
    "outcomes": "Sum up how the season's nests ended.",
    "fit": "Fit hatching parameters to incubation durations of your own.",
    "form": "Write the field form: a page for phones that works without a signal.",
    "map": "Draw the season as one web page that needs no network.",
    "report": "Write the season in words, pictures and tables for a county board.",
    "share": "Write the season in an open format, for the team or for everybody.",
    "demo": "Run the whole job on the invented county.",
}


def load(name: str) -> click.Command:
    """Import the module of the command ``name`` and return its command."""
    command: click.Command = import_module(f"{__name__}.{name.replace('-', '_')}").command
    return command


class CommandTable(click.Group):
    """A group whose help reads the table and whose commands load on demand."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  # click's own signature
        """Keep the order of the table, which is the order of the work."""
        return list(self.commands)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Swap the one-line entry of the table for the real command."""
        name, entry, rest = super().resolve_command(ctx, args)
        return name, load(name) if name and entry else entry, rest

    def invoke(self, ctx: click.Context) -> object:
        """Run a command; a fault of the input is one line, a fault of ours says so and asks to be reported."""
        try:
            return super().invoke(ctx)
        except RoadwatchError as error:
            click.echo(f"Error: {error}", err=True)
            ctx.exit(error.exit_code)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except Exception as error:
            if os.environ.get("ROADWATCH_TRACEBACK"):
                raise
            click.echo(
                f"Error: this is a fault of the program, not of your files ({type(error).__name__}: {error}). "
                "Nothing half-done was kept. Please report it, with the output of the same command run "
                "with ROADWATCH_TRACEBACK=1 set.",
                err=True,
            )
            ctx.exit(1)


@click.group(
    cls=CommandTable,
    commands={name: click.Command(name, help=line) for name, line in COMMANDS.items()},
)
@click.version_option(__version__, package_name="roadwatch")
def main() -> None:
    """Where turtles die on roads, when their nests hatch, and what to do about it."""
