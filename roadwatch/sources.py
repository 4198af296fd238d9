"""Every source a number or method comes from, by its key."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class Source:
    """A work cited by key; ``known_from`` says how far it was read (text, abstract, memory, standard)."""

    key: str
    citation: str
    known_from: str


@cache
def all_sources() -> dict[str, Source]:
    """Every source by key, as shipped in ``data/sources.toml``."""
    table = tomllib.loads((files("roadwatch") / "data" / "sources.toml").read_text(encoding="utf-8"))
    return {key: Source(key, row["citation"], row["known_from"]) for key, row in table.items()}
