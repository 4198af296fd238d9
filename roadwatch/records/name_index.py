"""Looking names of taxa up: in full, abbreviated, run together, misspelt, or within running text."""

from __future__ import annotations

import re
from difflib import get_close_matches
from functools import cached_property
from typing import TYPE_CHECKING

from roadwatch.records.written_names import SHORTEST_LONE_WORD_WITH_SLIP, Spelling, key_of, take_apart

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from roadwatch.records.taxa_table import Taxon

SHORTEST_WORD_GUESSED = 5
"""A shorter word that is not known is never guessed at."""

_TOO_LOOSE_IN_A_SENTENCE = frozenset(
    {
        *("map", "box", "mud", "musk", "spotted", "painted", "bog", "gopher"),
        *("unknown", "unidentified", "shell", "basker"),
    }
)
"""Short names that mean something else in running text, such as 'in the mud' or 'spotted crossing'."""


class NameIndex:
    """
    All names of some taxa.

    Parameters
    ----------
    taxa
        The taxa; no name stands for two of them.
    """

    def __init__(self, taxa: Collection[Taxon]) -> None:
        self.taxa = taxa

    @cached_property
    def _by_key(self) -> dict[str, str]:
        known = {key_of(name): taxon.name for taxon in self.taxa for name in taxon.all_names}
        for taxon in self.taxa:
            known.setdefault(key_of(taxon.code), taxon.name)
        for short, taxa in _abbreviations(self.taxa).items():
            if len(taxa) == 1:
                known.setdefault(short, taxa[0])
        known.pop("", None)
        return known

    @cached_property
    def _run_together(self) -> dict[str, str]:
        """Names of more than one word, without their spaces: 'redeared slider', 'boxturtle'."""
        names = {name for taxon in self.taxa for name in map(key_of, taxon.all_names) if " " in name}
        return {name.replace(" ", ""): self._by_key[name] for name in sorted(names)}

    @cached_property
    def _spelling(self) -> Spelling:
        full = (key_of(name) for taxon in self.taxa for name in taxon.all_names)
        return Spelling(frozenset(full) - _TOO_LOOSE_IN_A_SENTENCE)

    @cached_property
    def _pattern(self) -> re.Pattern[str]:
        names = [name for name in self._by_key if len(name) > 3 and name not in _TOO_LOOSE_IN_A_SENTENCE]
        return re.compile(rf"\b(?:{'|'.join(sorted(names, key=len, reverse=True))})(?=s?\b)")

    def taxon_of(self, key: str) -> str | None:
        """The taxon of a key, in the singular or the plural, its words parted or run together."""
        for names in (self._by_key, self._run_together):
            plain = key if names is self._by_key else key.replace(" ", "")
            found = names.get(plain) or (names.get(plain[:-1]) if plain.endswith("s") else None)
            if found:
                return found
        return None

    def mended(self, plain: str) -> tuple[str | None, str]:
        """The one taxon that a slip of the pen leads to, and its name as it should be written."""
        key = key_of(plain)
        near = {name for one in (key, key.removesuffix("s")) for name in self._spelling.near(one)}
        taxa = {self._by_key[name] for name in near}
        return (taxa.pop(), min(near)) if len(taxa) == 1 else (None, "")

    def within(self, text: str) -> dict[str, str]:
        """Every name in running text, in order, with its taxon."""
        words = dict.fromkeys(self._pattern.findall(key_of(text)))
        return {word: taxon for word in words if (taxon := self.taxon_of(word))}

    def near(self, name: str, *, most: int, between: str | None) -> list[str]:
        """Taxa with a name close to this one, nearest first; ``between`` stands behind the closest of them."""
        key = key_of(take_apart(name).whole)
        close = get_close_matches(key, list(self._by_key), n=4 * most, cutoff=0.72)
        closest = get_close_matches(key, close, n=most, cutoff=0.85)
        taxa = dict.fromkeys(self._by_key[one] for one in closest)
        taxa |= dict.fromkeys([between] if between else [])
        taxa |= dict.fromkeys(self._by_key[one] for one in close)
        return list(taxa)[:most]

    def likely(self, name: str) -> set[str]:
        """Taxa that a name may be meant for: as many words, and only words that are not known differ."""
        words = key_of(take_apart(name).whole).split()
        if len(words) < 2 and len("".join(words)) < SHORTEST_LONE_WORD_WITH_SLIP:
            return set()
        near = get_close_matches(" ".join(words), sorted(self._spelling.keys), n=12, cutoff=0.85)
        return {self._by_key[key] for key in near if self._differs_in_unknown_words(words, key.split())}

    def _differs_in_unknown_words(self, words: list[str], meant: list[str]) -> bool:
        odd = [one for one, other in zip(words, meant, strict=False) if one != other]
        guessable = all(len(one) >= SHORTEST_WORD_GUESSED and not self._spelling.has_word(one) for one in odd)
        return guessable and len(words) == len(meant)


def _abbreviations(taxa: Iterable[Taxon]) -> dict[str, list[str]]:
    """Names with initials, such as 't scripta' and 't s elegans', with all taxa they can stand for."""
    meant: dict[str, list[str]] = {}
    for taxon in taxa:
        words = key_of(taxon.name).split()
        if taxon.rank in ("species", "subspecies") and len(words) in (2, 3):
            for short in {" ".join([words[0][0], *words[1:]]), " ".join([w[0] for w in words[:-1]] + words[-1:])}:
                meant.setdefault(short, []).append(taxon.name)
    return meant
