"""A tiny invented county that tests build in a moment, and the commands run on it."""

import csv
import json
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner, Result

from roadwatch.cli import main

CENTRE = (-81.9, 31.7)
"""Longitude and latitude of an invented crossroads; 0.01 degree is about 950 m east and 1,109 m north here."""


@dataclass(frozen=True)
class County:
    """A folder with a season file in it, and ways to write files and run commands."""

    folder: Path

    @property
    def season(self) -> Path:
        return self.folder / "season.gpkg"

    def run(self, *args: object) -> Result:
        return CliRunner().invoke(main, [str(arg) for arg in args])

    def json(self, *args: object) -> dict:
        result = self.run(*args, "--json")
        assert result.exit_code in {0, 3}, result.output
        return json.loads(result.stdout)

    def write(self, name: str, text: str | bytes) -> Path:
        path = self.folder / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
        return path

    def write_csv(self, name: str, rows: list[dict]) -> Path:
        path = self.folder / name
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, fieldnames=list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
        return path

    def ingest(self, name: str, rows: list[dict], *options: object) -> Result:
        return self.run("ingest", self.season, self.write_csv(name, rows), *options)


def road_line(name: str, *points: tuple[float, float], **properties) -> dict:
    coordinates = [[CENTRE[0] + east, CENTRE[1] + north] for east, north in points]
    return {
        "type": "Feature",
        "properties": {"road": name, **properties},
        "geometry": {"type": "LineString", "coordinates": coordinates},
    }


def road_layer(*lines: dict) -> str:
    return json.dumps({"type": "FeatureCollection", "features": list(lines)})
