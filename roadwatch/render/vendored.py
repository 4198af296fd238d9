"""The map library inside the package, trusted only while its bytes are the published ones."""

from __future__ import annotations

import hashlib
import re
from base64 import b64encode
from functools import cache
from importlib.resources import files

from roadwatch.errors import RoadwatchError

PUBLISHED_SHA256 = {
    "leaflet.js": "db49d009c841f5ca34a888c96511ae936fd9f5533e90d8b2c4d57596f4e5641a",
    "leaflet.css": "a7837102824184820dfa198d1ebcd109ff6d0ff9a2672a074b9a1b4d147d04c6",
    "layers.png": "1dbbe9d028e292f36fcba8f8b3a28d5e8932754fc2215b9ac69e4cdecf5107c6",
    "layers-2x.png": "066daca850d8ffbef007af00b06eac0015728dee279c51f3cb6c716df7c42edf",
    "marker-icon.png": "574c3a5cca85f4114085b6841596d62f00d7c892c7b03f28cbfa301deb1dc437",
}
"""Files of Leaflet 1.9.4 as published (BSD-2-Clause, licences/leaflet.txt)."""


@cache
def vendored_bytes(name: str) -> bytes:
    """
    Read a file of the map library.

    Raises
    ------
    RoadwatchError
        The file is not the published one, byte for byte.
    """
    content = (files("roadwatch") / "render" / "assets" / name).read_bytes()
    found = hashlib.sha256(content).hexdigest()
    if found != PUBLISHED_SHA256[name]:
        raise RoadwatchError(
            f"{name} inside the package has SHA-256 {found}, expected {PUBLISHED_SHA256[name]}; install roadwatch again"
        )
    return content


@cache
def own_text(name: str) -> str:
    """Read a style or script of our own."""
    return (files("roadwatch") / "render" / "assets" / name).read_text(encoding="utf-8")


@cache
def leaflet_script() -> str:
    """The map library's code, without the line that asks for its source map."""
    return re.sub(r"\n//# sourceMappingURL=\S+\s*$", "\n", vendored_bytes("leaflet.js").decode("utf-8"))


@cache
def leaflet_style() -> str:
    """The map library's style, its pictures written into it."""
    style = vendored_bytes("leaflet.css").decode("utf-8").replace("\r\n", "\n")
    return re.sub(r"url\(images/([\w.-]+)\)", lambda match: f"url({_data_uri(match[1])})", style)


def _data_uri(name: str) -> str:
    return "data:image/png;base64," + b64encode(vendored_bytes(name)).decode("ascii")
