"""Factories for files of every format; all records in them are invented."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roadwatch.records.readers import read_file
from roadwatch.records.tables import RawTable

MakeFile = Callable[..., Path]
ReadText = Callable[..., RawTable]


@pytest.fixture
def make_file(tmp_path: Path) -> MakeFile:
    """Write a file of some bytes, text or JSON and give its path."""

    def make(name: str, content: bytes | str | dict[str, Any], *, encoding: str = "utf-8") -> Path:
        path = tmp_path / name
        if isinstance(content, dict):
            content = json.dumps(content)
        path.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
        return path

    return make


@pytest.fixture
def read_text(make_file: MakeFile) -> ReadText:
    """Write text to a file and read it back as its one table."""

    def read(text: str | bytes, *, name: str = "records.csv", encoding: str = "utf-8") -> RawTable:
        (table,) = read_file(make_file(name, text, encoding=encoding))
        return table

    return read


@pytest.fixture
def feature() -> Callable[..., dict[str, Any]]:
    """One GeoJSON feature."""

    def make(kind: str | None, coordinates: object = None, **properties: object) -> dict[str, Any]:
        geometry = None if kind is None else {"type": kind, "coordinates": coordinates}
        return {"type": "Feature", "properties": properties, "geometry": geometry}

    return make


@pytest.fixture
def collection() -> Callable[..., dict[str, Any]]:
    """A GeoJSON collection, with a crs member where one is asked for."""

    def make(*features: object, **members: object) -> dict[str, Any]:
        return {"type": "FeatureCollection", "features": list(features), **members}

    return make
