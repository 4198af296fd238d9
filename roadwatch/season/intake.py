"""Take files of records into a season: read, check, keep; every row accounted for."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, cast

from roadwatch.errors import UnfitFileError
from roadwatch.records.checks import Accepted, CheckContext, accept_rows
from roadwatch.records.fields import ID_FIELD, Kind
from roadwatch.records.readers import read_file
from roadwatch.records.rules_movement import WHO_WAS_WHERE
from roadwatch.records.store import Batch, BatchReport, Season
from roadwatch.records.store_changes import COORDINATOR
from roadwatch.records.tables import RawTable, RowFault
from roadwatch.records.taxa import Taxonomy, taxonomy_of
from roadwatch.roads.network import Network, build_network
from roadwatch.roads.snap import LEAST_TOLERANCE_M, snap
from roadwatch.season.file_digest import digest_of
from roadwatch.season.file_report import FileReport, joined, stated_assumptions
from roadwatch.season.marks import unusable_marks
from roadwatch.season.mending import is_mended, take_apart
from roadwatch.season.nearness import Nearness
from roadwatch.season.newer_copies import OlderCopies, find_older_copies
from roadwatch.season.own_tables import tables_folder
from roadwatch.season.rows_again import Part, cells_of, columns_in, habits_in, reading_of, table_from_cells
from roadwatch.season.shown import shown
from roadwatch.season.table_kind import kind_of_table, untold

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    import pandas as pd

    from roadwatch.records.store_held_back import HeldRow

EXTENT_MARGIN_DEG = 0.2
"""How far beyond the roads a record may lie, degrees (about 20 km; a convention, no source)."""


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

    @cached_property
    def nearness(self) -> Nearness:
        """Distances to the season's roads."""
        return Nearness(lambda: self.network)

    @cached_property
    def timezone(self) -> str:
        """The season's timezone."""
        return self.season.settings["timezone"]

    @cached_property
    def taxonomy(self) -> Taxonomy:
        """The season's tree of taxa."""
        return taxonomy_of(tables_folder(self.season))

    def take(self, path: Path, *, kind: str | None = None, dry_run: bool = False) -> list[FileReport]:
        """
        Read one file and keep its good rows, one transaction a table of the file.

        A file that was read before is not read again: only its rows that are still held back are judged anew.

        Parameters
        ----------
        path
            The file, or a folder of photographs.
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
        sha256 = digest_of(path)
        standing = self.season.standing_batches(sha256)
        if _is_known_whole(standing, kind):
            return [self._look_again(one, dry_run=dry_run) for one in standing]
        tables = [replace(raw, source=shown(raw.source)) for raw in read_file(path)]
        kinds = [kind_of_table(raw, kind) for raw in tables]
        if not any(kinds):
            raise UnfitFileError(untold(tables[0]))
        return [
            self._take_table(raw, found, sha256=sha256, tables=len(tables), dry_run=dry_run)
            if found
            else FileReport(raw.source, "", 0, 0, 0, 0, error=untold(raw))
            for raw, found in zip(tables, kinds, strict=True)
        ]

    def judge(self, part: Part, *, has_roads: bool = True) -> Accepted:
        """Read and check rows, and note those that lie on no road; without roads where only the rest is asked."""
        context = self.context(part.kind, has_roads=has_roads)
        accepted = accept_rows(part.raw, part.kind, timezone=self.timezone, context=context, habits=part.habits)
        faults = list(accepted.faults)
        if part.kind in {"crossings", "nests"}:
            own = tables_folder(self.season)
            faults.extend(unusable_marks(accepted.table, part.raw.source, tables_folder=own))
        if part.kind == "crossings" and has_roads:
            faults.extend(self._far_from_roads(accepted.table, part.raw.source))
        return replace(accepted, faults=sorted(faults, key=lambda fault: fault.line))

    def _take_table(self, raw: RawTable, kind: Kind, *, sha256: str, tables: int, dry_run: bool) -> FileReport:
        if not is_mended(raw):
            return self._take_part(Part(raw, kind), sha256=sha256, tables=tables, dry_run=dry_run)
        file = take_apart(raw, self.season, sha256=sha256, timezone=self.timezone)
        found = [self._take_part(part, sha256=sha256, tables=0, dry_run=dry_run) for part in file.parts]
        if not dry_run:
            self._discard(file.discards)
        untouched = [replace(_as_fault(row), line=line) for line, row in file.untouched.items()]
        discarded = file.discarded + len(file.discards)
        return joined(raw.source, found, untouched=untouched, settled=file.settled, discarded=discarded)

    def _discard(self, why_of: Mapping[str, str]) -> None:
        """Discard rows held back, those of one reason together."""
        for why in dict.fromkeys(why_of.values()):
            some = [one for one, reason in why_of.items() if reason == why]
            self.season.discard(some, who=COORDINATOR, when=self.now, why=why)

    def _take_part(self, part: Part, *, sha256: str, tables: int, dry_run: bool) -> FileReport:
        accepted = self.judge(part)
        held_lines = {fault.line for fault in accepted.held_back}
        report = FileReport(
            file=part.raw.source,
            kind=part.kind,
            rows_read=len(accepted.table) + len(held_lines),
            accepted=len(accepted.table),
            known=0,
            held_back=len(held_lines),
            faults=tuple(accepted.faults),
            notes=tuple(accepted.notes),
            repairs=accepted.repairs,
        )
        assumed = stated_assumptions(accepted.table)
        is_whole = part.habits is None and not part.mends
        copies = find_older_copies(part.raw, part.kind, self.season, sha256=sha256) if is_whole else OlderCopies()
        if dry_run:
            return replace(report, notes=(*report.notes, *copies.notes(len(copies.replaces)), *assumed))
        batch = Batch(
            file_name=part.raw.source,
            sha256=sha256,
            kind=part.kind,
            ingested_at=self.now,
            accepted=accepted.table,
            held_back=accepted.faults,
            repairs=accepted.repairs,
            cells=cells_of(part.raw, held_lines),
            mends=part.mends,
            replaces=copies.replaces,
            reading=reading_of(part.raw, accepted.habits, tables=tables),
        )
        kept = self.season.write_batch(batch)
        stored = _as_stored(report, kept)
        told = (*stored.notes, *copies.notes(kept.replaced), *(assumed if kept.accepted else ()))
        return replace(stored, notes=told)

    def _look_again(self, standing: Mapping[str, object], *, dry_run: bool) -> FileReport:
        """Judge the rows of a batch that are still held back anew; those that their reader could not cut stay so."""
        number, kind, name = cast("int", standing["batch"]), cast("Kind", standing["kind"]), str(standing["file_name"])
        held = self.season.held_rows(batch=number)
        judged = self._judge_held(held, name, kind, json.loads(str(standing["reading"])))
        good = set(judged.table["line"].tolist()) if judged else set()
        rows_in, discarded = cast("int", standing["rows_in"]), cast("int", standing["discarded"])
        report = FileReport(
            file=name,
            kind=kind,
            rows_read=rows_in,
            accepted=len(good),
            known=rows_in - len(held) - discarded,
            held_back=len(held) - len(good),
            discarded=discarded,
            faults=tuple(_as_fault(row) for row in held if row.line not in good),
            notes=(f"read before, at {standing['ingested_at']}, as batch {number}",),
            repairs=judged.repairs if judged else (),
            batch=number,
        )
        if dry_run or judged is None or not good:
            return report
        remarks = [fault for fault in judged.faults if fault.severity != "hold back"]
        batch = Batch(name, "", kind, self.now, judged.table, remarks, repairs=judged.repairs)
        return _as_stored(report, self.season.store_held_rows(number, batch, how="read again"))

    def _judge_held(
        self, held: list[HeldRow], source: str, kind: Kind, reading: Mapping[str, object]
    ) -> Accepted | None:
        """The roads are looked at only where a row is good now that is not yet stored under its name."""
        cut = {row.line: row.cells for row in held if row.cells is not None}
        if not cut:
            return None
        originals = {row.line: row.original for row in held}
        raw = table_from_cells(source, cut, columns=columns_in(reading), originals=originals)
        part = Part(raw, kind, habits_in(reading, timezone=self.timezone))
        judged = self.judge(part, has_roads=False)
        own = judged.table[ID_FIELD[kind]] if kind in ID_FIELD else None
        names = [] if own is None else own.dropna().tolist()
        is_all_stored = len(self.season.read(kind, columns=["record_key"], keys=names)) == len(judged.table)
        return judged if is_all_stored else self.judge(part)

    def context(self, kind: Kind, *, has_roads: bool = True) -> CheckContext:
        """What the rules may know beside the rows."""
        west, south, east, north = self.season.extent()
        return CheckContext(
            today=self.today,
            west=west - EXTENT_MARGIN_DEG,
            south=south - EXTENT_MARGIN_DEG,
            east=east + EXTENT_MARGIN_DEG,
            north=north + EXTENT_MARGIN_DEG,
            margin_deg=EXTENT_MARGIN_DEG,
            nests=self.season.read("nests") if kind == "checks" else None,
            earlier=self.season.read(kind, columns=WHO_WAS_WHERE[kind])
            if has_roads and kind in WHO_WAS_WHERE
            else None,
            taxonomy=self.taxonomy,
            distance_to_road_m=self.nearness.distance_m if kind == "crossings" and has_roads else None,
        )

    def _far_from_roads(self, good: pd.DataFrame, source: str) -> list[RowFault]:
        """Rows that snapping does not place; those within the least tolerance of a road always are."""
        longitude, latitude = (good[name].to_numpy(dtype=float) for name in ("longitude", "latitude"))
        some = good[~(self.nearness.distance_m(longitude, latitude) <= LEAST_TOLERANCE_M)]
        if some.empty:
            return []
        x_m, y_m = self.network.project(some["longitude"].to_numpy(), some["latitude"].to_numpy())
        snapped = snap(self.network, x_m, y_m, position_error_m=some["position_error_m"].to_numpy(dtype=float))
        rows = zip(*(some[name] for name in ("line", "original", "longitude", "latitude")), snapped.reason, strict=True)
        return [
            RowFault(
                source=source,
                line=int(line),
                original=original,
                column="longitude",
                found=f"{longitude}, {latitude}",
                reason=f"not placed on a road: {reason}; kept, but not counted along the roads",
                severity="note",
            )
            for line, original, longitude, latitude, reason in rows
            if reason
        ]


def _is_known_whole(standing: list[dict[str, object]], kind: str | None) -> bool:
    """Every table of the file is kept, as the kind asked for, with all that is needed to judge its open rows."""
    readings = [json.loads(str(one["reading"])) if one["reading"] else {} for one in standing]
    return bool(standing) and all(
        reading.get("tables") == len(standing) and kind in (None, one["kind"])
        for one, reading in zip(standing, readings, strict=True)
    )


def _as_stored(report: FileReport, kept: BatchReport) -> FileReport:
    return replace(
        report,
        rows_read=kept.rows_in,
        accepted=kept.accepted,
        known=kept.known,
        held_back=kept.held_back,
        discarded=kept.discarded,
        faults=tuple(one for one in (*report.faults, *kept.conflicts) if one.line not in kept.discarded_lines),
        repairs=kept.repairs,
        batch=kept.batch,
    )


def _as_fault(held: HeldRow) -> RowFault:
    return RowFault(held.file_name, held.line, held.original, held.columns, "", held.reasons.replace("\n", ". Also: "))
