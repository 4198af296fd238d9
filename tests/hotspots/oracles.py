"""Slow and obvious ways to the same numbers, written apart from the package."""

import math

import numpy as np


def epanechnikov(distance, half_width):
    return 0.75 * (1 - (distance / half_width) ** 2) / half_width if distance < half_width else 0.0


def walk_all_paths(edges, start, target, *, half_width, kernel=epanechnikov):
    """
    Density at ``target`` of a record at ``start``, walking every path one by one.

    edges: list of (node, node, length); start, target: (edge, offset from its first node).
    Okabe, Satoh & Sugihara 2009: 2/m onwards, 2/m - 1 back, at a node where m ends meet.
    """
    ends = {}
    for number, (a, b, _) in enumerate(edges):
        ends.setdefault(a, []).append((number, 0))
        ends.setdefault(b, []).append((number, 1))
    total = 0.0
    if start[0] == target[0]:
        total += kernel(abs(start[1] - target[1]), half_width)
    length = edges[start[0]][2]
    todo = [(start[0], 1, length - start[1], 1.0), (start[0], 0, start[1], 1.0)]  # about to arrive at this end
    while todo:
        edge, end, gone, share = todo.pop()
        if gone >= half_width:
            continue
        arms = ends[edges[edge][end]]
        for arm, arm_end in arms:
            part = share * (2 / len(arms) - ((arm, arm_end) == (edge, end)))
            if part == 0:
                continue
            length = edges[arm][2]
            if arm == target[0]:
                run = target[1] if arm_end == 0 else length - target[1]
                total += part * kernel(gone + run, half_width)
            todo.append((arm, 1 - arm_end, gone + length, part))
    return total


def wave_density(edges, start_cell, *, cell, half_width, kernel=epanechnikov):
    """
    Density at the middle of every cell of a record in the middle of one, as a wave that moves a cell a tick.

    No path is listed: each tick the waves shift by one cell, and at a node the sum s of what arrives leaves along
    every arm as 2 s / m minus what that arm brought. Every edge must be a whole number of cells.
    """
    cells = [round(length / cell) for _, _, length in edges]
    first = np.cumsum([0, *cells[:-1]])
    last = first + np.array(cells) - 1
    n = sum(cells)
    right, left = np.zeros(n), np.zeros(n)
    right[start_cell] = left[start_cell] = 1.0
    density = np.zeros(n)
    density[start_cell] = kernel(0.0, half_width)
    for tick in range(1, math.ceil(half_width / cell)):
        arrives = {}
        for number, (a, b, _) in enumerate(edges):
            arrives.setdefault(b, []).append(right[last[number]])
            arrives.setdefault(a, []).append(left[first[number]])
        new_right, new_left = np.zeros(n), np.zeros(n)
        for number, (a, b, _) in enumerate(edges):
            span = slice(first[number], last[number] + 1)
            into = 2 * sum(arrives[a]) / len(arrives[a]) - left[first[number]]
            new_right[span] = np.r_[into, right[span][:-1]]
            into = 2 * sum(arrives[b]) / len(arrives[b]) - right[last[number]]
            new_left[span] = np.r_[left[span][1:], into]
        right, left = new_right, new_left
        density += kernel(tick * cell, half_width) * (right + left)
    return density
