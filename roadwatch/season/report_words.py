"""Numbers in the sentences of a report: counts in words that agree, intervals, rates."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from scipy import special

if TYPE_CHECKING:
    from collections.abc import Sequence

LEAP_YEAR = 2024


def counted(n: float, one: str, many: str | None = None) -> str:
    """
    A number and its noun, in agreement.

    >>> counted(1, "nest"), counted(1200, "nest"), counted(0, "search", "searches"), counted(2.5, "turtle")
    ('1 nest', '1,200 nests', '0 searches', '2.5 turtles')
    """
    return f"{figure(n)} {one if n == 1 else many or one + 's'}"


def figure(value: float) -> str:
    """
    A number as people write it: whole ones with commas, others to two digits that count.

    >>> figure(12345.0), figure(0.0312), figure(3.449), figure(31.4)
    ('12,345', '0.031', '3.4', '31')
    """
    if value == round(value) or abs(value) >= 10:
        return f"{value:,.0f}"
    return f"{value:.2g}"


def span(low: float, high: float, *, level: str = "95 %") -> str:
    """
    An interval in brackets.

    >>> span(0.25, 0.38)
    '(0.25 to 0.38, 95 %)'
    """
    return f"({figure(low)} to {figure(high)}, {level})"


def listed(parts: Sequence[str]) -> str:
    """
    Parts of a sentence, with an "and" before the last.

    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def poisson_interval(events: float) -> tuple[float, float]:
    """
    The 95 % interval of the mean of a Poisson count.

    >>> [round(bound, 2) for bound in poisson_interval(10)]
    [4.8, 18.39]

    Source
    ------
    garwood1936
    """
    low = special.gammaincinv(events, 0.025) if events > 0 else 0.0
    return float(low), float(special.gammaincinv(events + 1.0, 0.975))


def rate_ratio(events: tuple[float, float], exposure: tuple[float, float]) -> tuple[float, float, float]:
    """
    How many times one rate is another, with the 95 % interval of the conditional binomial.

    Parameters
    ----------
    events, exposure
        Counts and what they are counted over, of the first and of the second.

    Returns
    -------
    (ratio, low, high); high is infinite where the second count is 0.

    Source
    ------
    clopper_pearson1934
    """
    first, second = events
    per = exposure[1] / exposure[0]
    low = special.betaincinv(first, second + 1.0, 0.025) if first > 0 else 0.0
    high = special.betaincinv(first + 1.0, second, 0.975) if second > 0 else 1.0
    odds = [share / (1.0 - share) if share < 1.0 else float("inf") for share in (low, high)]
    middle = first / second * per if second > 0 else float("inf")
    return float(middle), float(odds[0] * per), float(odds[1] * per)


def day_words(month_day: str) -> str:
    """
    A month-day as people say it.

    >>> day_words("05-02")
    '2 May'
    """
    day = date(LEAP_YEAR, int(month_day[:2]), int(month_day[3:]))
    return f"{day.day} {day:%B}"


def week_starts() -> list[tuple[int, str]]:
    """Number of the first day of each week of a leap year, 1 for 1 January, and that day."""
    first = date(LEAP_YEAR, 1, 1)
    return [(k + 1, f"{first + timedelta(days=k):%m-%d}") for k in range(0, 366, 7)]
