"""Every set of runs, tried one by one: slow and obvious."""

from itertools import combinations, pairwise


def efficacy_at(cells, place, middle, least, end):
    """Efficacy of the place-th cell of a run, ends counted from 0."""
    of_class = max(k for k in range(len(middle)) if least[k] <= cells)
    inwards = min(place, cells - 1 - place)
    return middle[of_class] * (end[inwards] if inwards < len(end) else 1.0)


def worth(deaths, start, stop, middle, least, end):
    return sum(deaths[i] * efficacy_at(stop - start, i - start, middle, least, end) for i in range(start, stop))


def best_by_trying(line, deaths, *, most_cells, least_cells, most_runs, middle, least, end, cost=None):
    """The most that any set of runs apart from each other averts."""
    n = len(deaths)
    runs = [
        (s, e)
        for s in range(n)
        for e in range(s + least_cells, n + 1)
        if line[s] == line[e - 1] and e - s <= most_cells
    ]
    best = 0.0
    for count in range(1, most_runs + 1):
        for chosen in combinations(runs, count):
            if any(a[1] > b[0] for a, b in pairwise(chosen)):
                continue
            if sum(e - s for s, e in chosen) <= most_cells and (cost is None or cost(chosen)):
                best = max(best, sum(worth(deaths, s, e, middle, least, end) for s, e in chosen))
    return best
