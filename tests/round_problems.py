"""Small invented problems of nest rounds, and slow and plain ways to solve them."""

from itertools import pairwise, permutations, product

import numpy as np

from roadwatch.rounds.problem import Problem, Timetable, expected_met, shortage
from roadwatch.rounds.values import round_value


def small_problem(seed: int = 1, **changes) -> Problem:
    """Make nests on a plane, people with days and hours, chances at random; any part changed."""
    rng = np.random.default_rng(seed)
    n_nests, n_days = changes.pop("n_nests", 3), changes.pop("n_days", 4)
    n_people, delay = changes.pop("n_people", 1), changes.pop("delay_days", 1)
    places, starts = rng.uniform(0, 20, (n_nests, 2)), rng.uniform(0, 20, (n_people, 2))
    chance = rng.dirichlet(np.ones(delay + n_days + 1), n_nests)[:, :-1]
    parts = {
        "chance": chance,
        "unit": np.arange(n_nests),
        "at_nest": rng.choice([10.0, 20.0], n_nests),
        "drive": np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1)),
        "drive_from_start": np.hypot(*(starts[:, None] - places[None]).transpose(2, 0, 1)),
        "available": rng.random((n_people, n_days)) < 0.8,
        "day_minutes": rng.uniform(30, 100, n_people),
        "may_open": rng.random(n_people) < 0.5,
        "per_day": int(rng.integers(1, 3)),
        "delay_days": delay,
        "needs": (),
    }
    return Problem(**(parts | changes))


def slow_round(problem: Problem, person: int, nests: tuple[int, ...]) -> float:
    """Drive minutes of the shortest round, over every order."""
    start, drive = problem.drive_from_start[person], problem.drive
    return min(
        (
            start[order[0]] + sum(drive[a, b] for a, b in pairwise(order)) + start[order[-1]]
            for order in permutations(nests)
        ),
        default=0.0,
    )


def slow_fits(problem: Problem, timetable: Timetable) -> bool:
    """Whether every day of everybody holds, looked at one by one."""
    for person in range(len(problem.day_minutes)):
        for day in range(problem.n_days):
            nests = tuple(
                nest
                for unit in timetable.units_of(person, day)
                for nest in range(len(problem.unit))
                if problem.unit[nest] == unit
            )
            if not nests:
                continue
            minutes = slow_round(problem, person, nests) + problem.at_nest[list(nests)].sum()
            if not problem.available[person, day] or len(nests) > problem.per_day:
                return False
            if minutes > problem.day_minutes[person] + 1e-6:
                return False
    return True


def all_days(problem: Problem):
    """Everything that can happen on one day: for each unit nobody or a person, where that fits."""
    n_people = len(problem.day_minutes)
    found = []
    for day in range(problem.n_days):
        fitting = []
        for who in product(range(-1, n_people), repeat=problem.n_units):
            person = np.full((problem.n_units, problem.n_days), -1)
            person[:, day] = who
            if slow_fits(problem, Timetable(person)):
                fitting.append(who)
        found.append(fitting)
    return found


def best_by_search(problem: Problem) -> tuple[float, float]:
    """(least shortage, most worth at it) over every plan there is."""
    best = (np.inf, -np.inf)
    for days in product(*all_days(problem)):
        timetable = Timetable(np.array(days).T.reshape(problem.n_units, problem.n_days))
        undone = shortage(problem, timetable)
        value = expected_met(problem, timetable) - round_value("least_worth") * timetable.is_visited.sum()
        if undone < best[0] - 1e-9 or (undone < best[0] + 1e-9 and value > best[1]):
            best = (min(undone, best[0]), value)
    return best


def slow_expected(problem: Problem, timetable: Timetable) -> float:
    """Expected meetings by walking through nests and days."""
    total = 0.0
    for nest, chances in enumerate(problem.chance):
        days = np.flatnonzero(timetable.is_visited[problem.unit[nest]])
        for column, chance in enumerate(chances):
            up = column - problem.delay_days
            total += chance * any(up <= day <= up + problem.delay_days for day in days)
    return total
