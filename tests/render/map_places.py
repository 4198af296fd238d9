"""Every place that the source of a map page holds, unpacked: what somebody who reads the source would find."""

from __future__ import annotations

import base64
import json
import re
from itertools import accumulate
from typing import Any

STEPS_PER_DEGREE = 100_000


def places_in(page_text: str) -> dict[str, list[tuple[float, float]]]:
    """Longitude and latitude of every point and corner in the data block, by layer."""
    data: Any = json.loads(re.search(r'id="season-data">(.*?)</script>', page_text, flags=re.DOTALL)[1])
    found = {name: _paired(numbers_in(data[name]["at"])) for name in ("crossings", "nests")}
    for name in ("roads", "water", "protected", "measures"):
        found[name] = _corners(data[name])
    found["hotspots"] = [place for one in data["answers"] for place in _corners(one) + _paired(one["middle"])]
    found["saved"] = [place for one in data["saved"] for place in _corners(one)]
    found["cells"] = [
        (edges[side], edges[end]) for edges in data["cells"]["bounds"] for side in (0, 2) for end in (1, 3)
    ]
    return found


def _corners(shapes: Any) -> list[tuple[float, float]]:
    return [place for rings in shapes["rings"] for ring in rings for place in _paired(ring)]


def _paired(steps: list[int]) -> list[tuple[float, float]]:
    longitude = (one / STEPS_PER_DEGREE for one in accumulate(steps[::2]))
    latitude = (one / STEPS_PER_DEGREE for one in accumulate(steps[1::2]))
    return list(zip(longitude, latitude, strict=True))


def numbers_in(text: str) -> list[int]:
    """
    The numbers of a packed text, byte by byte.

    Unsigned LEB128 as DWARF 5 describes it (appendix C); the sign folded into the lowest bit as Protocol Buffers'
    encoding guide does for sint64 ("ZigZag"). Both from memory.
    """
    found, value, shift = [], 0, 0
    for byte in base64.b64decode(text):
        value |= (byte & 127) << shift
        shift += 7
        if byte < 128:
            found.append((value >> 1) ^ -(value & 1))
            value, shift = 0, 0
    return found
