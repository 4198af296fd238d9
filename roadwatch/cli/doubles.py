"""``roadwatch doubles``."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.options import json_option, output_option, season_argument, who_option
from roadwatch.cli.output import print_json, print_notes, print_table, report_written, rows_of, write_output
from roadwatch.errors import UsageError

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.store_decisions import Word

ASKED: dict[str, Word] = {"--same": "yes", "--different": "no", "--undecided": "undecided"}


@click.command("doubles")
@season_argument
@click.option("--same", multiple=True, metavar="ID", help="Decide that this pair is one animal; may be repeated.")
@click.option("--different", multiple=True, metavar="ID", help="Decide that it is two animals; may be repeated.")
@click.option("--undecided", multiple=True, metavar="ID", help="Take the decision about it back; may be repeated.")
@click.option("--why", help="The reason of a decision, kept with it.")
@who_option
@json_option
@output_option
def command(
    season: Path,
    same: tuple[str, ...],
    different: tuple[str, ...],
    undecided: tuple[str, ...],
    why: str | None,
    who: str,
    as_json: bool,
    output: Path | None,
) -> None:
    """
    List the records that may be one animal, each pair with its probability and the reasons.

    Pairs that are certain enough are merged wherever animals are counted; the others are counted as separate, until
    a person decides: ID is a double_id of the list, or the names of two records with a comma between. A decision
    holds from then on, stands in the history of both records, and ends with the next decision about the pair.

    Example: roadwatch doubles county.gpkg --same d3f09ab12c --who Ana --why "one photograph"
    """
    from roadwatch.cli.decided_doubles import decide
    from roadwatch.season.animals import animals_of_season

    given = {word: ids for word, ids in zip(ASKED.values(), (same, different, undecided), strict=True) if ids}
    if given:
        if len(given) > 1 or not why:
            raise UsageError(
                f"give one of {', '.join(ASKED)}, and the reason with --why, such as --why 'one photograph'"
            )
        (word, ids), *_ = given.items()
        decide(season, ids, word, who=who, why=why, as_json=as_json)
        return
    animals = animals_of_season(season)
    pairs, notes = animals.proposals(), animals.notes()
    if output:
        write_output(pairs, output, title="Records that may be one animal", notes=notes, team_only=True)
        report_written(output, as_json=as_json)
    if as_json:
        print_json({"season": str(season), "doubles": rows_of(pairs), "notes": notes})
        return
    if not output:
        said = pairs["decided"].where(pairs["decided"] == "", "decided: " + pairs["decided"] + "; ")
        print_table(
            pairs.assign(reasons=said + pairs["reasons"]),
            ["double_id", "record_a", "record_b", "p", "merged", "reasons"],
        )
    print_notes(notes)
