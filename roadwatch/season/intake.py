"""Take files of records into a season: read, check, keep; every row accounted for."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.records.checks import CheckContext, accept_rows
from roadwatch.records.columns import guess_kind
from roadwatch.records.fields import DEFAULT_POSITION_ERROR_M, RECORD_KINDS, Kind
from roadwatch.records.readers import read_file
from roadwatch.records.store import Batch, Season
from roadwatch.records.tables import RawTable, RowFault
from roadwatch.roads.network import Network, build_network
from roadwatch.roads.snap import snap

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    import pandas as pd

EXTENT_MARGIN_DEG = 0.2
"""How far beyond the roads a record may lie, degrees (about 20 km; a convention, no source)."""


@dataclass(frozen=True)
class FileReport:
    """What became of the rows of one file or layer."""

    file: str
    kind: str
    rows_read: int
    accepted: int
    known: int
    held_back: int
    faults: tuple[RowFault, ...] = ()
    notes: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, object]:
        """The report as plain values, reasons included."""
        held = [
            {"line": fault.line, "column": fault.column, "found": fault.found, "reason": fault.reason}
            for fault in self.faults
            if fault.severity == "hold back"
        ]
        counts = {name: getattr(self, name) for name in ("rows_read", "accepted", "known", "held_back")}
        return {"file": self.file, "kind": self.kind, **counts, "reasons": held, "notes": list(self.notes)}

    def sentence(self, *, dry_run: bool = False) -> str:
        """One line: rows read, accepted, already known, held back."""
        verb = "would be accepted" if dry_run else "accepted"
        return (
            f"{self.file}: {self.rows_read} {self.kind} rows read, {self.accepted} {verb}, "
            f"{self.known} already known, {self.held_back} held back"
        )

    def lines(self) -> list[str]:
        """What was found in the file, why rows were held back, and what to look at in those kept."""
        held = [fault for fault in self.faults if fault.severity == "hold back"]
        shown = [f"line {fault.line}: {fault.reason}" for fault in held[:5]]
        if len(held) > len(shown):
            shown.append(f"{len(held) - len(shown)} more reasons: see 'roadwatch problems'")
        remarks: dict[str, list[RowFault]] = {}
        for fault in self.faults:
            if fault.severity != "hold back":
                remarks.setdefault(re.sub(r"'[^']*'|[\d.]+", "", fault.reason), []).append(fault)
        said = [
            f"{len(alike)} kept with a remark, such as line {alike[0].line}: {alike[0].reason}"
            for alike in remarks.values()
        ]
        return [*self.notes, *shown, *said]


def stated_assumptions(table: pd.DataFrame) -> tuple[str, ...]:
    """What is taken for granted where a column is blank, counted."""
    taken = {
        "observer_skill": "novice",
        "position_error_m": f"{DEFAULT_POSITION_ERROR_M:.0f} m",
        "count": "1",
        "id_confidence": "likely (0.8) when one taxon is asked for",
    }
    blank = {name: int(table[name].isna().sum()) for name in taken if name in table}
    return tuple(f"{n} rows without {name}: taken as {taken[name]}." for name, n in blank.items() if n)


@dataclass(frozen=True)
class Intake:
    """An open season, with what is needed to judge new rows: its extent, roads, timezone, and today's date."""

    season: Season
    today: date
    now: str

    @classmethod
    def open(cls, path: Path, *, today: date, now: str) -> Intake:
        """
        Open a season for taking in files.

        Raises
        ------
        UsageError
            The season does not exist.
        UnfitFileError
            The file is not a season.
        """
        return cls(season=Season.open(path), today=today, now=now)

    @cached_property
    def network(self) -> Network:
        """The season's road network."""
        return build_network(self.season.read("roads"))

    def take(self, path: Path, *, kind: str | None = None, dry_run: bool = False) -> list[FileReport]:
        """
        Read one file and keep its good rows, one transaction a table of the file.

        Parameters
        ----------
        path
            The file.
        kind
            Kind of record, where the columns do not tell.
        dry_run
            Check only; nothing is kept.

        Raises
        ------
        UsageError
            The file does not exist.
        UnfitFileError
            The file cannot be read, or its columns do not tell what it holds.
        """
        if not path.exists():
            raise UsageError(f"{path} does not exist; check the name")
        sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
        return [self._take_table(raw, sha256, kind=kind, dry_run=dry_run) for raw in read_file(path)]

    def _take_table(self, raw: RawTable, sha256: str, *, kind: str | None, dry_run: bool) -> FileReport:
        found = _kind_of(raw, kind)
        accepted = accept_rows(raw, found, timezone=self.season.settings["timezone"], context=self._context(found))
        good, faults = accepted.table, list(accepted.faults)
        if found == "crossings":
            faults.extend(self._far_from_roads(good, raw.source))
        faults.sort(key=lambda fault: fault.line)
        batch = Batch(
            file_name=raw.source,
            sha256=sha256,
            kind=found,
            ingested_at=self.now,
            accepted=good,
            held_back=faults,
        )
        held_back = len({(fault.line, fault.original) for fault in faults if fault.severity == "hold back"})
        report = FileReport(
            file=raw.source,
            kind=found,
            rows_read=len(good) + held_back,
            accepted=len(good),
            known=0,
            held_back=held_back,
            faults=tuple(faults),
            notes=(*accepted.notes, *stated_assumptions(good)),
        )
        if dry_run:
            return report
        kept = self.season.write_batch(batch)
        return replace(
            report,
            rows_read=kept.rows_in,
            accepted=kept.accepted,
            known=kept.known,
            held_back=kept.held_back,
            faults=(*report.faults, *kept.conflicts),
        )

    def _context(self, kind: Kind) -> CheckContext:
        west, south, east, north = self.season.extent()
        nests = self.season.read("nests") if kind == "checks" else None
        return CheckContext(
            today=self.today,
            west=west - EXTENT_MARGIN_DEG,
            south=south - EXTENT_MARGIN_DEG,
            east=east + EXTENT_MARGIN_DEG,
            north=north + EXTENT_MARGIN_DEG,
            nests=nests,
        )

    def _far_from_roads(self, good: pd.DataFrame, source: str) -> list[RowFault]:
        x_m, y_m = self.network.project(good["longitude"].to_numpy(), good["latitude"].to_numpy())
        snapped = snap(self.network, x_m, y_m, position_error_m=good["position_error_m"].to_numpy(dtype=float))
        far = np.flatnonzero(snapped.edge < 0)
        return [
            RowFault(
                source=source,
                line=int(good["line"].iloc[k]),
                original=good["original"].iloc[k],
                column="longitude",
                found=f"{good['longitude'].iloc[k]}, {good['latitude'].iloc[k]}",
                reason=f"not placed on a road: {snapped.reason[k]}; kept, but not counted along the roads",
                severity="note",
            )
            for k in far
        ]


def _kind_of(raw: RawTable, asked: str | None) -> Kind:
    names = [str(name) for name in raw.rows.columns]
    found = asked or raw.kind or guess_kind(names)
    if found not in RECORD_KINDS:
        raise UnfitFileError(
            f"{raw.source}: the columns {', '.join(names[:12])} do not tell what the rows are; "
            f"say it with '--as' and one of {', '.join(RECORD_KINDS)}, or see 'roadwatch fields crossings'"
        )
    return found
