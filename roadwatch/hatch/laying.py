"""When a nest's eggs were laid, as a span of days; an unseen laying is a wide span, and is said to be one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from roadwatch.hatch.values import hatch_value


@dataclass(frozen=True)
class Laying:
    """First and last day on which the eggs can have been laid; ``assumed`` when nothing bounds the first."""

    first: date
    last: date
    assumed: bool

    @property
    def n_days(self) -> int:
        """Days in the span, 1 when the day is known."""
        return (self.last - self.first).days + 1


def laying_of(
    *, laid_on: object = None, laid_from: object = None, laid_to: object = None, found_at: object = None
) -> Laying | str:
    """
    Read the span of laying from a nest's dates.

    Parameters
    ----------
    laid_on, laid_from, laid_to, found_at
        ISO 8601 text, or blank. ``laid_on`` settles it; a blank ``laid_to`` is the day found; a blank ``laid_from``
        is taken as 14 days before ``laid_to``.

    Returns
    -------
    The span, or a sentence that says why there is none.
    """
    seen, first, last, found = (day_in(value) for value in (laid_on, laid_from, laid_to, found_at))
    if seen:
        return Laying(seen, seen, assumed=False)
    if last and found:
        last = min(last, found)
    last = last or found
    if last is None:
        return "no projection: neither a laying day nor the day it was found is known"
    if first is None:
        return Laying(last - timedelta(days=hatch_value("assumed_laying_d")), last, assumed=True)
    if first > last:
        return f"no projection: it cannot have been laid from {first} and by {last}; correct the dates"
    return Laying(first, last, assumed=False)


def day_in(value: object) -> date | None:
    """A cell's local day; None where it is blank or no ISO 8601 text."""
    if not isinstance(value, str) or not value.strip():
        return None
    try:
        return date.fromisoformat(value[:10])
    except ValueError:
        return None
