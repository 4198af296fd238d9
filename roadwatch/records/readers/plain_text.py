"""The plain text of descriptions that map programs write as marked-up text."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from roadwatch.records.readers.limits import LONGEST_MARKUP

_MARKUP = re.compile(r"</?[a-zA-Z][^<>]{0,500}>|<!--|&(?:#\d{1,6}|\w{2,8});")
_NOT_SHOWN = frozenset({"script", "style", "head", "title"})


def is_markup(text: str) -> bool:
    """Tell whether a text holds tags or character references, and is no longer than the limit."""
    return len(text) <= LONGEST_MARKUP and _MARKUP.search(text) is not None


def text_of_markup(text: str) -> str | None:
    """
    Take the words out of marked-up text; tags part words, and nothing is fetched, run or shown.

    >>> text_of_markup("<b>box turtle</b><br>dead &amp; dry<script>x()</script>")
    'box turtle dead & dry'
    """
    try:
        words = _words(text)
    except AssertionError:  # the library's word for a marked section that it does not know
        words = _words(text.replace("<![", "&lt;!["))
    return " ".join(" ".join(words).split()) or None


def _words(text: str) -> list[str]:
    reader = _Words()
    reader.feed(text)
    reader.close()
    return reader.words


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.words: list[str] = []
        self._hidden: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:  # noqa: ARG002
        """Leave out what a page does not show."""
        if tag in _NOT_SHOWN:
            self._hidden.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Show again."""
        if tag in self._hidden:
            self._hidden.remove(tag)

    def handle_data(self, data: str) -> None:
        """Keep the words that are shown."""
        if not self._hidden:
            self.words.append(data)
