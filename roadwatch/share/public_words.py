"""What the public is told about masking, beside every page and file."""

from __future__ import annotations

from roadwatch.share.grid import CELL_KM, LEAST_RECORDS

RELEASES_WORDS = (
    "Squares change only when at least three records have come or gone since the last release of this season, so that "
    "no comparison of releases tells of one record; the newest records may therefore not be counted yet."
)

NOTED_WORDS = (
    "Noted in the season as a release: go on with this season file, because later releases must keep to what this one "
    "showed."
)
"""For whoever made a public page or file; it does not stand in it."""

SMALLEST_SHARE_PERCENT = 5


def share_in_words(part: int, whole: int) -> str:
    """
    A share to the nearest tenth: an exact one would tell when one record came.

    >>> share_in_words(0, 10), share_in_words(1, 100), share_in_words(33, 100), share_in_words(99, 100)
    ('none', 'under 5 %', 'about 30 %', 'over 95 %')
    """
    if not part:
        return "none"
    percent = 100 * part / whole
    if percent < SMALLEST_SHARE_PERCENT:
        return f"under {SMALLEST_SHARE_PERCENT} %"
    if percent >= 100 - SMALLEST_SHARE_PERCENT:
        return f"over {100 - SMALLEST_SHARE_PERCENT} %"
    return f"about {round(percent, -1):.0f} %"


def public_statements(n_hidden: int, n_open: int) -> tuple[str, ...]:
    """
    Sentences that belong beside every public use of places.

    Parameters
    ----------
    n_hidden, n_open
        Crossings and nests whose places are masked, and crossings shown where they lie.
    """
    masked = (
        "Public view. Nests, and crossings of taxa that are, or may be, sensitive to collecting and disturbance, are "
        f"shown only as counts in squares of {CELL_KM} km by {CELL_KM} km; a square with fewer than {LEAST_RECORDS} "
        f"records is left out. Of all crossings and nests, {share_in_words(n_hidden, n_hidden + n_open)} are masked "
        "that way."
    )
    drawn = (
        f"Crossings of other taxa ({n_open}) stand where they were recorded on the road, without observer, notes, "
        "record id, time of day and photo. Windows of nests are given by month only."
    )
    return masked, drawn, RELEASES_WORDS
