"""GPX texts against the published schema of GPX 1.1, by a general validator of XML that knows nothing of ours."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import xmlschema

SCHEMA = Path(__file__).parent / "golden" / "gpx_1_1.xsd"


@cache
def gpx_schema() -> xmlschema.XMLSchema:
    """The schema, which asks for no other file."""
    return xmlschema.XMLSchema(SCHEMA, allow="local")


def faults_of_gpx(text: str) -> list[str]:
    """What the schema objects to, one line for each: the place in the file and the reason."""
    return [f"{fault.path}: {fault.reason}" for fault in gpx_schema().iter_errors(text)]


def assert_valid_gpx(text: str) -> None:
    """Fail where a text is no GPX 1.1."""
    faults = faults_of_gpx(text)
    assert not faults, "\n".join(faults)
