"""The hotspots behind a map's filters: of all records, of each year, of each taxon, and of both together."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.density import kernel_matrices
from roadwatch.hotspots.notes import ENOUGH_RECORDS
from roadwatch.hotspots.road_curve import road_curves
from roadwatch.hotspots.search import HotspotResult, find_hotspots
from roadwatch.records.taxa import taxonomy_of
from roadwatch.season.own_tables import tables_folder
from roadwatch.season.public_view import NO_HOTSPOTS, sensitive_names
from roadwatch.share.hotspot_view import show_hotspots
from roadwatch.share.map_parts import HotspotAnswer

if TYPE_CHECKING:
    from collections.abc import Callable

    from scipy import sparse

    from roadwatch.hotspots.road_curve import RoadCurve
    from roadwatch.season.mortality import Mortality, SeasonHotspots
    from roadwatch.season.public_view import SeasonView
    from roadwatch.share.hotspot_view import ShownHotspots

HALF_WIDTHS_M = (300.0, 150.0, 600.0)
N_DRAWS = 99
"""Scatterings behind the answer to a choice; the one of all records has those of the command."""

CURVE_DRAWS = 119
"""Scatterings behind the band along a road: with them it is exact."""

MOST_TAXA = 8
"""Taxa with an answer of their own, those with most records first."""

ANSWER_WORDS = (
    "Hotspots of a year or a taxon chosen on the map rest on 99 scatterings each, and each choice is a test of its "
    "own: if no road were special, one in 20 would show a hotspot by chance. A choice without an answer of its own "
    "shows the hotspots of all records in grey."
)


@dataclass(frozen=True)
class _Choices:
    """The deaths from which every answer is cut, and what all answers share."""

    base: Mortality
    view: SeasonView
    seed: int

    @cached_property
    def kernels(self) -> list[sparse.csr_array]:
        """Of all half-widths, made once."""
        return list(kernel_matrices(self.base.network, self.base.stretches, half_widths_m=HALF_WIDTHS_M))

    @cached_property
    def masks(self) -> tuple[set[str], set[str]]:
        """Names of sensitive taxa, and all names known."""
        taxonomy = taxonomy_of(tables_folder(self.base.season))
        return sensitive_names(taxonomy), set(taxonomy.taxa)

    def shown(self, found: HotspotResult | None) -> ShownHotspots:
        """Hotspots as the view's audience may see them."""
        sensitive, known = self.masks
        return show_hotspots(
            NO_HOTSPOTS if found is None else found.hotspots,
            self.view.opened.read("crossings"),
            audience=self.view.audience,
            sensitive=sensitive,
            known=known,
        )

    def of(self, year: int | None, taxon: str | None) -> Mortality:
        """The deaths of a year, weighed by the probability of a taxon."""
        base, records, effort_km = self.base, self.base.records, self.base.effort_km
        if year is not None:
            records = records[records["year"] == year]
            effort_km = None if effort_km is None else {year: effort_km[year]} if year in effort_km else {}
        if taxon is not None and base.sure is not None:
            p = base.sure.of(taxon)[records["row"].to_numpy(dtype=np.int64)]
            records = records.assign(weight=records["weight"] * p, identity=p)[p > 0]
        return replace(base, records=records.reset_index(drop=True), effort_km=effort_km, asked=taxon)

    def answer(self, year: int | None, taxon: str | None) -> HotspotAnswer:
        """Find the hotspots of a choice, or say why there are none to find."""
        ready = self.of(year, taxon)
        told = {"year": None if year is None else str(year), "taxon": taxon}
        weight = float(ready.records["weight"].sum())
        if weight < ENOUGH_RECORDS:
            few = f"{weight:.0f} dead to expect, too few to confirm a hotspot"
            return HotspotAnswer(shown=self.shown(None), curves=(), note=few, **told)
        rng = np.random.default_rng([self.seed, year or 0, *(taxon or "").encode()])
        try:
            found = find_hotspots(
                ready.network,
                ready.stretches,
                ready.records,
                effort_km=ready.effort_km,
                n_draws=N_DRAWS,
                is_of=ready.drawn_sets(rng),
                kernels=self.kernels,
                rng=rng,
            )
        except NotEnoughDataError as error:
            return HotspotAnswer(shown=self.shown(None), curves=(), note=str(error), **told)
        shown = self.shown(found)
        return HotspotAnswer(shown=shown, curves=_curves(found, ready, shown, rng=rng), note="", **told)

    def taxa(self) -> list[str]:
        """Taxa, and groups that hold more than one of them, with records enough; most records first."""
        if self.base.sure is None:
            return []
        tree = taxonomy_of(tables_folder(self.base.season))
        names = [name for name in self.base.sure.tables.taxa if name in tree.taxa]
        lines = [tree.lineage(name) for name in names]
        held = Counter(step for line in lines for step in line)
        steps = {step for step, n in held.items() if step in names or n > 1} - {tree.root}
        weight = self.base.records["weight"].to_numpy(dtype=float)
        row = self.base.records["row"].to_numpy(dtype=np.int64)
        expected = {step: float(weight @ self.base.sure.of(step)[row]) for step in sorted(steps)}
        enough = [step for step, count in expected.items() if count >= ENOUGH_RECORDS]
        return sorted(enough, key=lambda step: (-expected[step], step))[:MOST_TAXA]


def map_answers(
    view: SeasonView,
    found: SeasonHotspots | None,
    *,
    seed: int,
    only_first: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[HotspotAnswer, ...]:
    """
    Answer every choice of year and taxon that a map offers, from what its audience may see.

    Parameters
    ----------
    view
        The season as its audience may see it.
    found
        Hotspots of all its records, found in ``view.opened``; None where there were too few.
    seed
        Makes every answer repeatable.
    only_first
        Answer for all records only.
    progress
        Called with answers done and those in all.

    Returns
    -------
    The answer of all years and turtles first, whose ``shown`` is ``view.hotspots``; none where nothing was found.
    """
    if found is None:
        return ()
    rng = np.random.default_rng([seed, 1])
    first = HotspotAnswer(None, None, view.hotspots, _curves(found, found.mortality, view.hotspots, rng=rng), "")
    if only_first:
        return (first,)
    choices = _Choices(found.mortality, view, seed)
    years = sorted({int(year) for year in found.mortality.records["year"]})
    taxa = choices.taxa()
    asked = [
        *((year, None) for year in years if len(years) > 1),
        *((None, taxon) for taxon in taxa),
        *((year, taxon) for taxon in taxa for year in years if len(years) > 1),
    ]
    answers = [first]
    for done, (year, taxon) in enumerate(asked, start=1):
        answers.append(choices.answer(year, taxon))
        if progress:
            progress(done, len(asked))
    return tuple(answers)


def _curves(
    found: HotspotResult, ready: Mortality, shown: ShownHotspots, *, rng: np.random.Generator
) -> tuple[RoadCurve | None, ...]:
    """The curve along the road of each hotspot shown; a list for the public may leave out some of those found."""
    if shown.table.empty:
        return ()
    curves = road_curves(
        found, ready.network, ready.stretches, ready.records, effort_km=ready.effort_km, rng=rng, n_draws=CURVE_DRAWS
    )
    by_place = {(curve.road, curve.road_part, round(curve.from_m)): curve for curve in curves}
    places = zip(shown.table["road"], shown.table["road_part"], shown.table["from_m"], strict=True)
    return tuple(by_place.get((road, int(part), round(from_m))) for road, part, from_m in places)
