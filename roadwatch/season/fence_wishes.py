"""What a user asks of a fence plan."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from roadwatch.errors import UsageError
from roadwatch.siting.fence_problem import Prices


@dataclass(frozen=True)
class Wishes:
    """
    What the user asks of a plan.

    Parameters
    ----------
    fence_m, least_run_m, most_runs
        Length of all fences together (None: as far as the budget reaches), of the shortest run, and number of runs.
    prices
        Prices and budget.
    passage_reach_m
        With it only stretches this near along the roads to a passage of the layer are fenced.
    efficacy, efficacy_file
        Set of efficacies, and a table of the user's own.
    n_draws
        Draws of rates and efficacies.
    carcass_trial
        Table of a trial with placed carcasses; with it deaths are those of animals killed.
    """

    fence_m: float | None
    least_run_m: float = 200.0
    most_runs: int | None = None
    prices: Prices = field(default_factory=Prices)
    passage_reach_m: float | None = None
    efficacy: str = "turtles"
    efficacy_file: Path | None = None
    n_draws: int = 200
    carcass_trial: Path | None = None

    def most_m(self) -> float:
        """Length of fence that may be planned, metres."""
        if self.fence_m is not None:
            return self.fence_m
        if self.prices.budget is None or not self.prices.per_m:
            raise UsageError("say how much fence: --fence-km, or --budget together with --cost-per-m")
        return self.prices.budget / self.prices.per_m


def wishes_of(
    *,
    fence_km: float | None = None,
    runs: int | None = None,
    min_run_m: float = 200.0,
    cost_per_m: float | None = None,
    cost_per_end: float = 0.0,
    cost_per_passage: float = 0.0,
    budget: float | None = None,
    passage_reach_m: float | None = None,
    efficacy: str = "turtles",
    draws: int = 200,
    carcass_trial: Path | None = None,
) -> Wishes:
    """
    Wishes in the words of the command line.

    Parameters
    ----------
    fence_km, runs, min_run_m, cost_per_m, cost_per_end, cost_per_passage, budget, passage_reach_m, draws, carcass_trial
        As the options of the command.
    efficacy
        Name of a shipped set, or path of a table.

    Raises
    ------
    UsageError
        There is a budget without a price.
    """
    own = Path(efficacy) if efficacy.lower().endswith(".csv") else None
    return Wishes(
        None if fence_km is None else 1000.0 * fence_km,
        min_run_m,
        runs,
        Prices(cost_per_m, cost_per_end, cost_per_passage, budget),
        passage_reach_m,
        "turtles" if own else efficacy,
        own,
        draws,
        carcass_trial,
    )
