"""The package's own way from records of a simulated county to hotspots, as the command line chains it."""

import numpy as np

from roadwatch.hotspots.repeats import new_animal_chance, supported_elsewhere
from roadwatch.hotspots.search import find_hotspots
from roadwatch.records.double_values import value
from roadwatch.records.doubles import propose_doubles
from roadwatch.roads.snap import snap
from roadwatch.roads.spread import spread_records


def search(county, *, beyond, n_draws, seed, merge=True, **options):
    """Merge doubles, snap, spread by position error, weigh by identity, and search."""
    land, records = county.land, county.records
    records = records.assign(new=1.0)
    if merge:
        found = propose_doubles(records, records["x_m"].to_numpy(), records["y_m"].to_numpy())
        first, second, p = (found.pairs[name].to_numpy() for name in ("a", "b", "p"))
        expected = value("expected_resightings") + value("expected_copies")
        weight = value("weight_of_expectation")
        p = supported_elsewhere(first, second, p, n_records=len(records), expected=expected, weight=weight)
        records = records[first_of(found.animal)].assign(new=new_animal_chance(found.animal, first, second, p))
        records = records.reset_index(drop=True)
    x_m, y_m, error_m = (records[name].to_numpy() for name in ("x_m", "y_m", "position_error_m"))
    placed = snap(land.network, x_m, y_m, position_error_m=error_m)
    spread = spread_records(land.network, land.stretches, placed, x_m, y_m, position_error_m=error_m)
    parts = records.iloc[spread.record].reset_index(drop=True)
    parts = parts.assign(
        edge=spread.edge,
        offset_m=spread.offset_m,
        weight=spread.share * parts["identity"].to_numpy() * parts["new"].to_numpy(),
    )
    rng = np.random.default_rng(seed)
    return find_hotspots(
        land.network,
        land.stretches,
        parts,
        effort_km=county.effort_km,
        beyond=beyond,
        n_draws=n_draws,
        rng=rng,
        **options,
    )


def first_of(animal):
    """True at the first record of each animal."""
    first = np.zeros(len(animal), dtype=bool)
    first[np.unique(animal, return_index=True)[1]] = True
    return first
