"""Whatever releases are compared, a square's records come and go three or more at a time."""

from itertools import pairwise

import numpy as np
import pandas as pd
import pytest

from roadwatch.share.releases import NOTHING_RELEASED, OPEN, numbered, plan_release


def masked(*names, square="1 1", kind="nests"):
    return pd.DataFrame({"kind": kind, "record_key": list(names), "square": square}, dtype=object)


def seen(**content):
    rows = {"kind": "crossings", "record_key": list(content), "content": list(content.values())}
    return pd.DataFrame(rows, dtype=object)


def after(release):
    """What stands once a release is noted: numbers are given in the order in which records came."""
    shown = release.shown.reset_index(drop=True)
    taken = int(shown["number"].dropna().max()) if shown["number"].notna().any() else 0
    fresh = iter(range(taken + 1, taken + 1 + len(shown)))
    return shown.assign(
        number=[next(fresh) if pd.isna(n) else n for n in shown["number"]], first_released_at="2025-07-01"
    )


def counts(release):
    return {(row.kind, row.square): row.records for row in release.squares.itertuples()}


def chain(*steps):
    """The releases of a season whose records are given step by step."""
    standing, made = NOTHING_RELEASED, []
    for hidden, in_the_open in steps:
        made.append(plan_release(hidden, in_the_open, standing=standing))
        standing = after(made[-1])
    return made


def of_nests(*sets):
    return [
        counts(release).get(("nests", "1 1"), 0) for release in chain(*((masked(*names), seen()) for names in sets))
    ]


@pytest.mark.parametrize(
    ("nests", "shown"),
    [
        (["", "a", "ab", "abc"], [0, 0, 0, 3]),  # a square opens at three
        (["abc", "abcd", "abcde", "abcdef"], [3, 3, 3, 6]),  # newcomers wait for each other
        (["abcdef", "abcde", "abcd", "abc"], [6, 6, 6, 3]),  # those that left linger together
        (["abcde", "ab"], [5, 0]),  # two would be left: the square closes
        (["abcde", "ab", "abf"], [5, 0, 3]),  # and opens again with three
        (["abc", "abd"], [3, 3]),  # one for one shows nothing
        (["abc", "abc", "abc"], [3, 3, 3]),
        (["abc", "", "abc"], [3, 0, 3]),
        (["abc", "abcdefg"], [3, 7]),
    ],
)
def test_a_square_changes_by_three_records_or_not_at_all(nests, shown):
    assert of_nests(*nests) == shown  # counted by hand from the rule


def test_nests_and_crossings_gather_apart():
    both = pd.concat([masked("a", "b"), masked("x", "y", kind="crossings")])
    assert counts(chain((both, seen()))[0]) == {}


def test_a_record_that_moves_to_another_square_leaves_and_enters_with_others_only():
    first = pd.concat([masked(*"abcd"), masked(*"wxyz", square="2 1")])
    moved = pd.concat([masked(*"abc"), masked(*"wxyzd", square="2 1")])
    made = chain((first, seen()), (moved, seen()))
    assert counts(made[0]) == counts(made[1]) == {("nests", "1 1"): 4, ("nests", "2 1"): 4}


def test_an_open_record_is_shown_at_once_and_shows_its_correction():
    made = chain((masked(), seen(a="slider")), (masked(), seen(a="cooter", b="slider")))
    told = made[1].shown.set_index("record_key")["content"].to_dict()
    assert told == {"a": "cooter", "b": "slider"}
    assert made[1].changed == ((1, "cooter"),)


def test_a_record_that_turns_out_to_be_sensitive_stays_as_it_was_first_shown_and_is_counted_nowhere():
    others = masked("x", "y", "z", kind="crossings")
    turned = pd.concat([others, masked("a", kind="crossings")])
    made = chain((others, seen(a="slider", b="slider")), (turned, seen(b="slider")))
    assert made[1].kept_open == {"a"}
    assert made[1].shown[made[1].shown["square"] == OPEN]["content"].tolist() == ["slider", "slider"]
    assert counts(made[1]) == {("crossings", "1 1"): 3}


def test_open_records_that_left_the_season_go_three_at_a_time():
    full = dict.fromkeys("abcd", "slider")
    made = chain(
        (masked(), seen(**full)),
        (masked(), seen(**dict.fromkeys("abc", "slider"))),
        (masked(), seen(a="slider")),
    )
    assert [len(release.shown) for release in made] == [4, 4, 1]
    assert len(made[2].left) == 3


def test_a_release_of_the_same_records_changes_nothing():
    one = (masked(*"abcd"), seen(p="slider"))
    made = chain(one, one)
    assert made[1].came.empty
    assert made[1].changed == made[1].left == ()
    assert counts(made[0]) == counts(made[1])


@pytest.mark.parametrize("seed", range(8))
def test_between_any_two_releases_of_a_wandering_season_no_square_gains_or_loses_one_or_two_records(seed):
    rng = np.random.default_rng(seed)
    everybody = [f"n{k}" for k in range(40)]
    square = {name: f"{rng.integers(3)} 1" for name in everybody}
    present, standing, sets = set(), NOTHING_RELEASED, []
    for _ in range(30):
        for name in rng.choice(everybody, size=rng.integers(0, 5), replace=False):
            present ^= {name}
            square[name] = f"{rng.integers(3)} 1" if rng.random() < 0.2 else square[name]
        rows = pd.DataFrame(
            {"kind": "nests", "record_key": sorted(present), "square": [square[n] for n in sorted(present)]},
            dtype=object,
        )
        release = plan_release(rows, seen(), standing=standing)
        standing = after(release)
        sets.append({s: frozenset(rows["record_key"]) for s, rows in release.shown.groupby("square")})
    for one, other in pairwise(sets):
        for name in one.keys() | other.keys():
            before, now = one.get(name, frozenset()), other.get(name, frozenset())
            assert len(now - before) not in (1, 2)
            assert len(now) not in (1, 2)
            assert len(before - now) not in (1, 2)


def test_the_order_of_the_season_decides_nothing():
    rows, names = masked(*"abcdef"), {"p": "x", "q": "y", "r": "z"}
    one = plan_release(rows, seen(**names), standing=NOTHING_RELEASED)
    turned = plan_release(rows.iloc[::-1], seen(**dict(reversed(names.items()))), standing=NOTHING_RELEASED)
    pd.testing.assert_frame_equal(one.came, turned.came)


def test_a_release_that_was_noted_has_the_numbers_of_the_season_and_nothing_else_changes():
    first = plan_release(masked("n1", "n2", "n3"), seen(a="slider"), standing=NOTHING_RELEASED)
    assert first.shown["number"].isna().all()
    standing = after(first).sample(frac=1, random_state=3)  # in whatever order it is read
    told = numbered(first, standing=standing)
    number_of = standing.set_index("record_key")["number"].to_dict()
    assert dict(zip(told.shown["record_key"], told.shown["number"], strict=True)) == number_of
    assert told.shown["first_released_at"].unique().tolist() == ["2025-07-01"]
    kept = ["kind", "record_key", "square", "content"]
    assert told.shown[kept].equals(first.shown[kept].reset_index(drop=True))
    assert counts(told) == counts(first)
