"""Background pictures from elsewhere, only where the maker of a page asked for them: one host, named on the page."""

from __future__ import annotations

import re

from roadwatch.errors import UsageError

_TEMPLATE = re.compile(
    r"https://(?P<host>[a-z0-9](?:[a-z0-9-]*[a-z0-9])?(?:\.[a-z0-9](?:[a-z0-9-]*[a-z0-9])?)+(?::\d{1,5})?)"
    r"/(?:[A-Za-z0-9._~/?&=%+@,:-]|\{[zxyr]\})*"
)


def tile_host(template: str) -> str:
    """
    Read the one host that a template of picture addresses asks.

    >>> tile_host("https://tiles.example.org/{z}/{x}/{y}.png")
    'tiles.example.org'

    Parameters
    ----------
    template
        An https address with ``{z}``, ``{x}`` and ``{y}``; ``{r}`` is allowed.

    Returns
    -------
    The host, with its port where one is given.

    Raises
    ------
    UsageError
        It is no https address of one host, lacks a placeholder, or holds a character that a policy cannot carry.

    Source
    ------
    csp3
    """
    found = _TEMPLATE.fullmatch(template)
    if found is None or any(part not in template for part in ("{z}", "{x}", "{y}")):
        raise UsageError(
            f"'{template}' is no address of background pictures; expected one https host and {{z}}, {{x}} and {{y}}, "
            "such as https://tiles.example.org/{z}/{x}/{y}.png, without quotes, spaces, semicolons or {s}"
        )
    return found["host"]


def tile_words(host: str) -> str:
    """What the reader of a page with background pictures must know."""
    return (
        f"This page asks {host} for background pictures; {host} then knows what part of the map you look at. "
        "Without a network the map is drawn without them."
    )
