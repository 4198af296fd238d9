"""Names that belong to no one: two plain syllables stuck together until they mean nothing."""

from __future__ import annotations

import re
from itertools import product

FIRST = re.findall(
    r"\w+",
    "Quill Marrow Tansel Withen Dunmer Ellick Fennow Garrow Hobble Kettel Lorn "
    "Mossel Nettley Orrel Pellow Russet Sallow Tarrel Umber Vennel Wickle Yarrel",
)
LAST = ("fold", "wick", "mere", "low", "by", "stead", "combe", "garth")
ENDINGS = {
    "county": ("Road", "Road", "Mill Road", "Ferry Road", "Road"),
    "lane": ("Lane", "Trail", "Lane", "Track", "Way"),
    "street": ("Street", "Street", "Avenue"),
}
OBSERVERS = {
    "Ines Quillfold": "expert",
    "Tobe Marrowby": "trained",
    "Wren Tanselgarth": "trained",
    "Odell Withencombe": "novice",
    "Maud Ellickstead": "novice",
    "Perrin Garrowlow": "novice",
    "Lida Fennowmere": "expert",
    "Cass Hobblewick": "novice",
    "Jory Sallowstead": "novice",
}


def road_names() -> dict[str, list[str]]:
    """Lists of names by kind of road; a stem is used once only."""
    stems = [a + b for b, a in product(LAST, FIRST)]
    stems = stems[::7] + stems[1::7] + stems[2::7] + stems[3::7] + stems[4::7] + stems[5::7] + stems[6::7]
    shares = {"county": stems[:45], "street": stems[45:65], "lane": stems[65:]}
    return {
        kind: [f"{stem} {ENDINGS[kind][i % len(ENDINGS[kind])]}" for i, stem in enumerate(names)]
        for kind, names in shares.items()
    }
