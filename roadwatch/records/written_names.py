"""Names of animals as people write them: doubt marks, open nomenclature, spelling, and keys to look names up by."""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from itertools import product

_DOUBT = re.compile(r"\(\s*\?\s*\)|\?|\b(?:probabl[ey]|prob|possibl[ey]|poss|maybe|perhaps|likely)\b\.?", re.IGNORECASE)
_QUALIFIER = re.compile(r"(?<![^\W_])(?P<word>cf|aff)(?:\.|(?![^\W_]))", re.IGNORECASE)
_RANK_ENDING = re.compile(r"\b(?:sp|spp|ssp|subsp|indet)\b")
_OPEN_ENDING = re.compile(r"[\s_](?P<word>spp|sp|ssp|subsp|indet)\.?\s*$", re.IGNORECASE)
_ARTICLE = re.compile(r"^\s*(?:an?|the)\s+")

SHORTEST_WORD_WITH_SLIP = 6
"""A shorter word one letter off is another word too easily (mud, mus, musk): it is never taken for a slip."""

SHORTEST_LONE_WORD_WITH_SLIP = 8
"""A name of one word has to be longer still: 'spider' is one letter from 'slider', 'scooter' from 'cooter'."""


@dataclass(frozen=True)
class OpenName:
    """
    A written name taken apart.

    Parameters
    ----------
    sure
        The part that is not in doubt, blank where the doubt stands before the whole name.
    whole
        The name without doubt marks and qualifiers.
    qualifier
        What expresses the doubt, as ``cf. nelsoni``, ``sp.`` or ``?``; blank where the name is meant as it stands.
    doubt
        The writer was not sure; 'sp.' alone says no such thing.

    Source
    ------
    darwincore, sigovini2016
    """

    sure: str
    whole: str
    qualifier: str = ""
    doubt: bool = False


def take_apart(written: str) -> OpenName:
    """
    Take a name in open nomenclature apart.

    >>> take_apart("Pseudemys cf. nelsoni").sure, take_apart("Pseudemys cf. nelsoni").qualifier
    ('Pseudemys', 'cf. nelsoni')
    """
    marks = [mark.strip("() ").lower() for mark in _DOUBT.findall(written)]
    plain = " ".join(_DOUBT.sub(" ", written).split())
    doubt = " ".join(dict.fromkeys(marks))
    found = _QUALIFIER.search(plain)
    if found:
        before, behind = plain[: found.start()].strip(" _"), plain[found.end() :].strip(" ._")
        qualifier = " ".join(filter(None, (f"{found['word'].lower()}.", behind, doubt)))
        return OpenName(before, f"{before} {behind}".strip(), qualifier, doubt=True)
    ending = _OPEN_ENDING.search(plain)
    open_end = f"{ending['word'].lower()}." if ending else ""
    return OpenName(plain, plain, " ".join(filter(None, (open_end, doubt))), doubt=bool(marks))


def has_doubt(text: str) -> bool:
    """Tell whether a doubt mark, such as '?' or 'probably', stands in the text."""
    return bool(_DOUBT.search(text))


def key_of(written: str) -> str:
    """
    Letters, digits and single spaces only, lower case, without accents, articles and rank endings.

    >>> key_of("The Barbour's Map-turtles spp.")
    'barbours map turtles'
    """
    flat = unicodedata.normalize("NFKD", written.replace("×", " x ").replace("'", "").replace("’", "")).casefold()
    flat = _ARTICLE.sub("", "".join(sign for sign in flat if not unicodedata.combining(sign)))
    return " ".join(_RANK_ENDING.sub(" ", re.sub(r"[^a-z0-9]+", " ", flat)).split())


def is_one_slip(written: str, meant: str) -> bool:
    """
    Tell whether one letter too many, too few or wrong, or two neighbours changed over, separates two words.

    >>> is_one_slip("snaping", "snapping"), is_one_slip("turtel", "turtle"), is_one_slip("mud", "musk")
    (True, True, False)
    """
    if abs(len(written) - len(meant)) > 1 or written == meant:
        return False
    at = next((k for k, (one, two) in enumerate(zip(written, meant, strict=False)) if one != two), len(meant))
    at = min(at, len(written), len(meant))
    one, two = written[at:], meant[at:]
    return one[1:] == two[1:] or one[1:] == two or one == two[1:] or (one[:2] == two[1::-1] and one[2:] == two[2:])


class Spelling:
    """
    Names that differ from a written one by slips that are safe to mend.

    Parameters
    ----------
    keys
        Every known name as a key.
    """

    def __init__(self, keys: frozenset[str]) -> None:
        self.keys = keys

    def near(self, key: str) -> set[str]:
        """
        Known keys that differ by one slip in each of some words of six letters or more; equal in all others.

        A word that stands in any known name is right as it is: 'western' is no slip for 'eastern'.
        """
        words = key.split()
        if not words or len(words) > self._most_words:
            return set()
        if len(words) == 1 and len(words[0]) < SHORTEST_LONE_WORD_WITH_SLIP:
            return set()
        choices = [self._meant(word) for word in words]
        return {" ".join(name) for name in product(*choices)} & self.keys

    def has_word(self, word: str) -> bool:
        """Tell whether the word stands in any known name, in the singular or the plural."""
        return word in self._words

    def _meant(self, word: str) -> list[str]:
        if word in self._words:
            return [word]
        if len(word) < SHORTEST_WORD_WITH_SLIP:
            return []
        around = {near for part in _shortened(word) for near in self._by_part[part]} if word else set()
        return sorted(near for near in around if is_one_slip(word, near))

    @cached_property
    def _words(self) -> frozenset[str]:
        words = {word for key in self.keys for word in key.split()}
        return frozenset(words | {f"{word}s" for word in words if len(word) >= SHORTEST_WORD_WITH_SLIP})

    @cached_property
    def _most_words(self) -> int:
        return max((len(key.split()) for key in self.keys), default=0)

    @cached_property
    def _by_part(self) -> defaultdict[str, set[str]]:
        """Words by what is left of them without one letter, so that near words are found without comparing all."""
        parts: defaultdict[str, set[str]] = defaultdict(set)
        for word in self._words:
            for part in _shortened(word):
                parts[part].add(word)
        return parts


def _shortened(word: str) -> set[str]:
    """The word, and the word without each of its letters."""
    return {word, *(word[:at] + word[at + 1 :] for at in range(len(word)))}
