"""The one gate for text on a page: as HTML, or as data that a page reads and never runs."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

if TYPE_CHECKING:
    from collections.abc import Iterable

_UNSHOWABLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f"  # control characters: HTML forbids them
    "\u202a-\u202e\u2066-\u2069"  # marks that turn the order of the text after them around
    "\ud800-\udfff\ufffe\uffff]"  # half pairs, which no file in UTF-8 can hold
)

_JSON_ESCAPES = str.maketrans(
    {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026", "\u2028": "\\u2028", "\u2029": "\\u2029"}
)


def plain(text: object) -> str:
    r"""
    Text that a page can show: blank for a missing value, a replacement sign for a character that cannot be shown.

    >>> plain("nest\x00 7") == "nest\ufffd 7"
    True
    """
    if text is None or text != text:  # nan differs from itself
        return ""
    return _UNSHOWABLE.sub("\ufffd", str(text)).replace("\r\n", "\n").replace("\r", "\n")


def safe_html(text: object) -> Markup:
    """
    Escape a text for the content or a quoted attribute of an element.

    Parameters
    ----------
    text
        Any text; HTML that this module made before stays as it is.

    Returns
    -------
    HTML that shows the text as it was written.

    Source
    ------
    owasp_xss
    """
    return text if isinstance(text, Markup) else escape(plain(text))


def fill(template: str, **texts: object) -> Markup:
    """
    Put texts into a piece of HTML; every one of them passes :func:`safe_html`.

    >>> fill("<b>{name}</b>", name="<i>")
    Markup('<b>&lt;i&gt;</b>')
    """
    return Markup(template).format(**{name: safe_html(text) for name, text in texts.items()})  # noqa: S704  # ours


def joined(parts: Iterable[Markup]) -> Markup:
    """Pieces of HTML one after another, one a line."""
    return Markup("\n").join(safe_html(part) for part in parts)


def data_block(data: object, *, element_id: str) -> Markup:
    """
    Put data into a page as JSON that no browser runs.

    Parameters
    ----------
    data
        Dictionaries, lists, numbers and texts.
    element_id
        Id under which the page's code finds it.

    Returns
    -------
    A ``script`` element of type ``application/json`` in which no character can end the element.

    Source
    ------
    owasp_xss
    """
    text = json.dumps(_showable(data), ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    body = Markup(text.translate(_JSON_ESCAPES))  # noqa: S704  # escaped on this line
    return fill('<script type="application/json" id="{element_id}">{body}</script>', element_id=element_id, body=body)


def _showable(data: object) -> object:
    if isinstance(data, str):
        return plain(data)
    if isinstance(data, dict):
        return {plain(name): _showable(value) for name, value in data.items()}
    if isinstance(data, list | tuple):
        return [_showable(value) for value in data]
    return data
