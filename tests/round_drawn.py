"""A plan made by hand: two nests, three days, one or two people; nothing in it was searched for."""

from datetime import date

import numpy as np
from round_problems import small_problem

from roadwatch.hatch.chances import DayChances
from roadwatch.rounds.people import Team
from roadwatch.rounds.problem import Timetable
from roadwatch.rounds.routes import Routes
from roadwatch.rounds.solve import Solution
from roadwatch.rounds.stops import Span, Stop
from roadwatch.rounds.travel import Travel
from roadwatch.rounds.visits import Drawn

FIRST = date(2025, 8, 1)
SPAN = Span(FIRST, date(2025, 8, 3), 1, "emergence")
CHANCE = np.array([[0.1, 0.2, 0.3, 0.1], [0.0, 0.5, 0.0, 0.0]])
"""Columns are 31 July to 3 August; what is left comes up later, a tenth never."""


def stop_by_hand(name: str, by_day, **changes) -> Stop:
    """A nest with an open window and nothing special."""
    chances = DayChances(np.array(by_day), 0.0, 0.9 - float(np.sum(by_day)), 0.1)
    parts = {"window": (date(2025, 7, 30), date(2025, 8, 20)), "spring_end": date(2026, 5, 31), "is_caged": False}
    return Stop(name, chances, **(parts | changes))


def drawn_by_hand(person, *, needs=(), may_open=(True,), available=None, stops=None, **proof) -> Drawn:
    """
    Put a timetable ``person`` (2, 3) into a plan: n1 is 10 minutes and 5 km from the start, n2 20 minutes and 12 km,
    5 minutes and 2 km apart; 15 minutes at each.
    """
    n_people = len(may_open)
    available = np.ones((n_people, 3), dtype=bool) if available is None else np.array(available)
    problem = small_problem(
        n_nests=2,
        n_days=3,
        n_people=n_people,
        chance=CHANCE,
        at_nest=np.full(2, 15.0),
        drive=np.array([[0.0, 5.0], [5.0, 0.0]]),
        drive_from_start=np.tile([10.0, 20.0], (n_people, 1)),
        available=available,
        day_minutes=np.full(n_people, np.inf),
        may_open=np.array(may_open),
        per_day=2,
        needs=needs,
    )
    parts = {"expected": 1.2, "shortage": 0.0, "bound": 1.2, "is_optimal": True, "by_clock": False, "n_cuts": 0}
    solution = Solution(timetable=Timetable(np.array(person)), **(parts | proof))
    nowhere = np.full(n_people, np.nan)
    names = ("Ada", "Bo")[:n_people]
    team = Team(names, nowhere, nowhere, problem.day_minutes, problem.may_open, available, ("A note on people.",))
    between, start = np.array([[0.0, 2000.0], [2000.0, 0.0]]), np.tile([5000.0, 12000.0], (n_people, 1))
    travel = Travel(between, start, np.zeros(2), ("A note on ways.",))
    made = stops or [stop_by_hand("n1", CHANCE[0]), stop_by_hand("n2", CHANCE[1])]
    return Drawn(problem, solution, Routes(problem), made, SPAN, team, travel)
