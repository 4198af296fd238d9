"""One carcass is counted once; two animals are never merged into one."""

import numpy as np
import pandas as pd
import pytest
from simulators.carcasses import World, simulate

from roadwatch.records.doubles import animal_groups, propose_doubles


def carcass(**changes):
    row = {
        "observed_at": "2025-05-12",
        "condition": "dead",
        "taxon": "Trachemys scripta",
        "position_error_m": 10.0,
        "action": None,
        "carapace_mm": np.nan,
        "x_m": 0.0,
        "y_m": 0.0,
    }
    return row | changes


def doubles_of(*rows, **places):
    table = pd.DataFrame(list(rows))
    return propose_doubles(table, table["x_m"].to_numpy(), table["y_m"].to_numpy(), **places)


def groups(*rows):
    table = pd.DataFrame(list(rows))
    return animal_groups(table, table["x_m"].to_numpy(), table["y_m"].to_numpy()).tolist()


def p_of(*rows, **places):
    """The probability of the first two of the rows; 0 where the pair is not even proposed."""
    pairs = doubles_of(*rows, **places).pairs
    found = pairs[pairs[["a", "b"]].isin([0, 1]).all(axis=1)]
    return float(found["p"].iloc[0]) if len(found) else 0.0


def test_the_same_carcass_by_two_people_is_one_animal():
    assert groups(carcass(), carcass(x_m=12.0)) == [0, 0]


def test_a_carcass_seen_on_three_days_running_is_one_animal():
    days = [carcass(observed_at=f"2025-05-{day}") for day in (12, 14, 16)]
    assert groups(*days) == [0, 0, 0]


@pytest.mark.parametrize(
    "other",
    [
        carcass(observed_at="2025-05-15", carcass_age="fresh"),
        carcass(observed_at="2025-06-20"),
        carcass(x_m=60.0),
        carcass(condition="alive"),
        carcass(condition=None),
        carcass(taxon="Chelydra serpentina"),
    ],
    ids=[
        "fresh three days later",
        "five weeks later",
        "60 m away with positions good to 10 m",
        "a live animal",
        "nobody said whether dead or alive",
        "another species",
    ],
)
def test_another_animal_stays_another(other):
    assert groups(carcass(), other) == [0, 1]


def test_a_genus_can_be_one_of_its_species():
    assert groups(carcass(taxon="Trachemys scripta"), carcass(taxon="Emydidae")) == [0, 0]


def test_a_carcass_that_was_removed_cannot_be_seen_again():
    assert groups(carcass(action="carcass_removed"), carcass(observed_at="2025-05-13")) == [0, 1]


def test_a_carcass_can_be_seen_before_it_is_removed():
    assert groups(carcass(), carcass(observed_at="2025-05-13", action="carcass_removed")) == [0, 0]


def test_lengths_that_differ_by_a_quarter_are_two_animals():
    assert groups(carcass(carapace_mm=200.0), carcass(carapace_mm=250.0)) == [0, 1]
    assert groups(carcass(carapace_mm=200.0), carcass(carapace_mm=210.0)) == [0, 0]


def test_poor_positions_reach_farther_but_never_beyond_300_m():
    far = carcass(position_error_m=500.0)
    assert 0 < p_of(far, far | {"x_m": 299.0}) < p_of(far, far | {"x_m": 9.0})
    assert p_of(far, far | {"x_m": 301.0}) == 0


def test_two_records_on_one_edge_are_compared_along_the_road():
    # a hairpin: 5 m apart as the crow flies, 400 m by road
    hairpin = {"edge": np.array([3, 3]), "offset_m": np.array([100.0, 500.0])}
    assert p_of(carcass(), carcass(x_m=5.0), **hairpin) < 0.01 < p_of(carcass(), carcass(x_m=5.0))


@pytest.mark.parametrize(
    ("worse", "better"),
    [
        ({"x_m": 25.0}, {"x_m": 5.0}),
        ({"observed_at": "2025-05-22"}, {"observed_at": "2025-05-13"}),
        ({"taxon": "Chelydra serpentina"}, {"taxon": "Trachemys"}),
        ({"sex": "male"}, {"sex": "female"}),
        ({"life_stage": "hatchling"}, {"life_stage": "adult"}),
        ({"carapace_mm": 130.0}, {"carapace_mm": 202.0}),
        ({"observer": "Ann"}, {"observer": "Bea"}),
        ({"search_id": "s1"}, {"search_id": "s2"}),
        ({"count": 3.0}, {"count": 1.0}),
    ],
    ids=lambda change: next(iter(change)),
)
def test_what_fits_worse_is_less_probable(worse, better):
    first = carcass(
        sex="female", life_stage="adult", carapace_mm=200.0, observer="Ann", search_id="s1", count=1.0, x_m=1.0
    )
    if "life_stage" in worse:
        first["carapace_mm"] = np.nan
    second = first | {"observer": "Cy", "search_id": "s3", "x_m": 4.0}
    assert p_of(first, second | worse) < p_of(first, second | better)


def test_living_animals_are_one_only_minutes_or_an_untold_time_of_one_day_apart():
    alive = carcass(condition="alive", observed_at="2025-05-12T08:00:00-04:00", observer="Ann")
    again = alive | {"observer": "Bea", "x_m": 6.0}
    assert p_of(alive, again | {"observed_at": "2025-05-12T08:07:00-04:00"}) > 0.95
    assert p_of(alive, again | {"observed_at": "2025-05-12T11:00:00-04:00"}) < 0.01
    on_the_day = p_of(alive, again | {"observed_at": "2025-05-12"})
    assert 0.2 < on_the_day < p_of(alive, again | {"observed_at": "2025-05-12T08:07:00-04:00"})
    assert p_of(alive, again | {"observed_at": "2025-05-13"}) < 0.01


def decided(a, b, *, is_one):
    return pd.DataFrame({"a": [a], "b": [b], "is_one": [is_one]})


def test_what_a_person_decided_stands_whatever_the_records_say():
    near = (carcass(observer="Ann"), carcass(observer="Bea", x_m=1.0))
    free = doubles_of(*near)
    apart = doubles_of(*near, decided=decided(1, 0, is_one=False))
    assert (free.animal.tolist(), apart.animal.tolist()) == ([0, 0], [0, 1])
    assert apart.pairs["p"].tolist() == free.pairs["p"].tolist(), "the probability stays what the records tell"
    assert apart.pairs["decided"].tolist() == [0.0]


def test_records_too_far_apart_to_be_proposed_can_be_told_to_be_one():
    far = (carcass(observed_at="2025-05-12"), carcass(observed_at="2025-09-30", x_m=5000.0, condition="alive"))
    assert doubles_of(*far).pairs.empty
    told = doubles_of(*far, decided=decided(0, 1, is_one=True))
    assert told.animal.tolist() == [0, 0]
    assert told.pairs["p"].iloc[0] < 1e-6


def test_two_animals_are_not_joined_by_a_third_record_that_fits_both():
    rows = [carcass(observer=name, x_m=x) for name, x in (("Ann", 0.0), ("Bea", 1.0), ("Cy", 2.0))]
    assert doubles_of(*rows).animal.tolist() == [0, 0, 0]
    animal = doubles_of(*rows, decided=decided(0, 2, is_one=False)).animal.tolist()
    assert animal[0] != animal[2]


def test_putting_only_near_records_on_the_roads_gives_the_same_pairs():
    season = simulate(np.random.default_rng(5), World(deaths=120))
    asked = []

    def lay(rows):
        asked.extend(rows.tolist())
        return season.edge[rows], season.x_m[rows]

    whole = propose_doubles(season.records, season.x_m, season.y_m, edge=season.edge, offset_m=season.x_m)
    lean = propose_doubles(season.records, season.x_m, season.y_m, lay_on_roads=lay)
    pd.testing.assert_frame_equal(lean.pairs, whole.pairs)
    assert lean.animal.tolist() == whole.animal.tolist()
    assert len(asked) == len(set(asked)) < len(season.x_m)


def test_living_animals_of_different_length_are_two():
    alive = carcass(condition="alive", observed_at="2025-05-12T08:00:00-04:00", carapace_mm=200.0)
    later = alive | {"observed_at": "2025-05-12T08:07:00-04:00"}
    assert p_of(alive, later | {"carapace_mm": 300.0}) < 0.5 < p_of(alive, later | {"carapace_mm": 203.0})


def test_the_pair_holds_the_earlier_record_first():
    late, early = carcass(observed_at="2025-05-13"), carcass(observed_at="2025-05-12T18:00:00-04:00")
    assert doubles_of(late, early).pairs[["a", "b"]].to_numpy().tolist() == [[1, 0]]


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("n", [30, 120])
def test_a_busy_culvert_with_deaths_on_many_days_does_not_collapse(seed, n):
    rng = np.random.default_rng(seed)
    rows = [
        carcass(x_m=float(x), observed_at=str(np.datetime64("2025-04-01") + int(day)), observer=str(who))
        for x, day, who in zip(rng.normal(0, 30, n), rng.permutation(150)[:n], rng.integers(7, size=n), strict=True)
    ]
    assert max(groups(*rows)) == n - 1


def test_twelve_dead_at_one_culvert_on_one_day_stay_twelve():
    rng = np.random.default_rng(4)
    rows = [carcass(x_m=float(x), observer=str(who)) for x, who in zip(rng.normal(0, 20, 12), range(12), strict=True)]
    assert max(groups(*rows)) == 11


def test_one_pair_in_a_lonely_place_is_surer_than_the_same_pair_at_a_busy_culvert():
    pair = [carcass(observer="A"), carcass(x_m=9.0, observer="B", observed_at="2025-05-13")]
    busy = [carcass(x_m=2.0 * k - 20, observed_at=f"2025-07-{k:02d}", observer="C") for k in range(1, 21)]
    lonely = [row | {"x_m": row["x_m"] + 50_000 * (k + 1)} for k, row in enumerate(busy)]
    assert p_of(*pair, *busy) < 0.9 < p_of(*pair, *lonely)


def test_a_file_exported_again_without_names_is_recognised():
    rng = np.random.default_rng(5)
    people, taxa = ["Ann", "Bea", "Cy"], ["Trachemys scripta", "Chelydra serpentina", "Emydidae"]
    first = [
        carcass(
            x_m=float(rng.uniform(0, 40_000)),
            observed_at=f"2025-0{rng.integers(4, 9)}-{rng.integers(10, 29)}T08:{rng.integers(10, 59)}:00-04:00",
            observer=str(rng.choice(people)),
            taxon=str(rng.choice(taxa)),
            condition=str(rng.choice(["dead", "alive", "unknown"])),
        )
        for _ in range(60)
    ]
    again = [row | {"x_m": round(row["x_m"] / 1.1) * 1.1, "observed_at": row["observed_at"][:10]} for row in first]
    found = doubles_of(*first, *again)
    assert found.animal.tolist() == list(range(60)) * 2
    copies = found.pairs[found.pairs["b"] - found.pairs["a"] == 60]
    assert len(copies) == 60
    assert copies["p"].min() > 0.95
    assert copies["p"].median() > 0.99
    assert copies["is_copy"].all()


def test_two_hatchlings_of_one_visit_are_not_taken_for_a_copy():
    visit = {"observer": "Ann", "life_stage": "hatchling", "search_id": "s1", "notes": "wet ditch"}
    rows = [carcass(x_m=0.8 * k, carapace_mm=30.0 + 4 * k, **visit) for k in range(3)]
    assert groups(*rows) == [0, 1, 2]


def test_the_order_of_records_does_not_matter():
    rng = np.random.default_rng(7)
    rows = [
        carcass(x_m=float(x), observed_at=f"2025-05-{d:02d}")
        for x, d in zip(rng.integers(0, 3000, 40), rng.integers(1, 28, 40), strict=True)
    ]
    table = pd.DataFrame(rows)
    order = rng.permutation(40)
    straight = animal_groups(table, table["x_m"].to_numpy(), table["y_m"].to_numpy())
    mixed = table.iloc[order].reset_index(drop=True)
    shuffled = animal_groups(mixed, mixed["x_m"].to_numpy(), mixed["y_m"].to_numpy())
    pairs = straight[order][:, None] == straight[order][None, :]
    assert np.array_equal(pairs, shuffled[:, None] == shuffled[None, :])


def test_moving_every_record_by_one_week_and_one_kilometre_changes_nothing():
    season = simulate(np.random.default_rng(8), World(deaths=120))
    moved = season.records.assign(
        observed_at=[str(np.datetime64(text[:10]) + 7) + text[10:] for text in season.records["observed_at"]]
    )
    here = propose_doubles(season.records, season.x_m, season.y_m)
    there = propose_doubles(moved, season.x_m + 1000.0, season.y_m)
    assert np.array_equal(here.animal, there.animal)
    assert there.pairs["p"].to_numpy() == pytest.approx(here.pairs["p"].to_numpy(), abs=1e-6)


def test_no_record_and_one_record_are_fine():
    assert groups(carcass()) == [0]
    empty = propose_doubles(pd.DataFrame(columns=list(carcass())), np.zeros(0), np.zeros(0))
    assert empty.animal.tolist() == []
    assert empty.pairs.empty


def test_a_season_without_doubles_teaches_that_they_are_rare():
    rows = [carcass(x_m=1000.0 * k, observed_at=f"2025-0{4 + k // 25}-{k % 25 + 1:02d}") for k in range(100)]
    found = doubles_of(*rows)
    assert found.resightings_expected < 0.05
    assert found.copies_expected < 0.01
