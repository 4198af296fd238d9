"""The fewest passages, by trying every choice of them."""

from itertools import combinations


def fewest_by_trying(passage, cells):
    """Number of passages that serve all cells; none for no cell. The cells must lie within reach."""
    for count in range(len(passage) + 1):
        for chosen in combinations(range(len(passage)), count):
            if all(any(passage[p][cell] for p in chosen) for cell in cells):
                return count
    raise AssertionError("a cell lies out of reach of every passage")
