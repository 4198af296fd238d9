"""The one line in which a reader refuses a file."""

from __future__ import annotations

from roadwatch.errors import UnfitFileError


def unfit(where: str, *, found: str, expected: str, cure: str) -> UnfitFileError:
    """
    Word a refusal: where, what was found, what is expected, what to do.

    >>> print(unfit("a.csv", found="no bytes", expected="a table", cure="export it again"))
    a.csv: found no bytes, expected a table; export it again
    """
    return UnfitFileError(" ".join(f"{where}: found {found}, expected {expected}; {cure}".split()))


def counted(n: int, one: str, many: str | None = None) -> str:
    """
    Name a number of things in its grammatical form.

    >>> counted(1, "feature"), counted(2, "feature"), counted(0, "match", "matches")
    ('1 feature', '2 features', '0 matches')
    """
    return f"{n} {one if n == 1 else many or f'{one}s'}"


def line_list(lines: list[int]) -> str:
    """
    Name lines for a note, at most five of them.

    >>> line_list([3, 4, 9])
    'lines 3, 4, 9'
    >>> line_list([7])
    'line 7'
    """
    shown = ", ".join(str(line) for line in lines[:5]) + (", ..." if len(lines) > 5 else "")
    return f"{'line' if len(lines) == 1 else 'lines'} {shown}"
