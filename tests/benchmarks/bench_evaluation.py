"""How often evaluations raise a false alarm, how far off they are, and how often their intervals hold the truth."""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulators.measures import simulate_study

from roadwatch.errors import NotEnoughDataError

N_STUDIES, SEED = 200, 20260
RESULTS = Path(__file__).with_name("results_evaluation.md")
HEADS = (
    *("effect", "chosen by", "shape", "explained", "before/after", "ratio", "corrected", "to county mean"),
    *("ratio holds", "fall", "rise", "corrected holds", "fall", "rise", "mean holds", "fall", "rise"),
    *("told fall", "told rise"),
)
WORDS = """# Evaluations of measures: how far off, how often wrong

`bench_evaluation.py`, {date}, 2 cores, 24 GiB, one used, other work running; seed {seed}, {n} studies a line,
{seconds:.0f} processor seconds. Simulated counties of 150 sections (everything invented), two years before and two
after, .12 deaths per search-kilometre, all rates falling by a fifth; the section that gets the measure is the one of
the highest count (`count`), any of the ten of the highest count (`upper`), any of the ten of the highest true rate
(`rate`, which nobody can know), or any of the ten of most traffic (`known`). Shape: how evenly rates are spread around
what traffic explains (gamma); explained: spread of the log of what traffic explains, 0 none. Medians of the ratio;
`corrected` draws counts before towards sections of like traffic (what is used), `to county mean` towards the county's
mean; `holds`: share of 95 % intervals with the truth in them; `fall`, `rise`: share wholly below or above 1; `told`:
share in which the verdict says so, as both the ratio and the corrected one show it. With effect 1 a told fall or rise
is a false alarm; with effect .4 a told fall is the power. Controls are added until they hold 40 deaths before.

"""


def run(*, effect: float, chosen_by: str, shape: float, explained: float) -> list[str]:
    rng = np.random.default_rng(SEED)
    studies = []
    while len(studies) < N_STUDIES:
        try:
            studies.append(simulate_study(rng, effect=effect, chosen_by=chosen_by, shape=shape, explained=explained))
        except NotEnoughDataError:
            continue
    kinds = [[getattr(s, name) for s in studies] for name in ("naive", "corrected", "to_county_mean")]
    cells = [f"{effect:g}", chosen_by, f"{shape:g}", f"{explained:g}"]
    cells += [f"{np.median([s.before_after for s in studies]):.2f}"]
    cells += [f"{np.nanmedian([one.ratio for one in found]):.2f}" for found in kinds]
    for found in kinds:
        cells += [
            f"{np.mean([one.low <= effect <= one.high for one in found]):.3f}",
            f"{np.mean([one.high < 1 for one in found]):.3f}",
            f"{np.mean([one.low > 1 for one in found]):.3f}",
        ]
    told = [
        np.mean([n.high < 1 and c.high < 1 for n, c in zip(*kinds[:2], strict=True)]),
        np.mean([n.low > 1 and c.low > 1 for n, c in zip(*kinds[:2], strict=True)]),
    ]
    cells += [f"{share:.3f}" for share in told]
    return cells


def reading(rows: list[list[str]]) -> str:
    """What the lines say together."""
    column = {name: HEADS.index(name) for name in ("corrected", "corrected holds", "told fall", "told rise")}

    def span(name: str, *, effect: str, rate: bool) -> str:
        found = [float(row[column[name]]) for row in rows if row[0] == effect and (row[1] == "rate") == rate]
        return f"{min(found):.3g} to {max(found):.3g}"

    told = [span(name, effect="1", rate=rate) for name in ("told fall", "told rise") for rate in (False, True)]
    return f"""
Reading, from the lines above. A measure that does nothing is told to have lowered deaths in a share of {told[0]} of the
studies (`rate`: {told[1]}) and to have raised them in {told[2]} ({told[3]}); .05 is aimed at for both together.
A fall to .4 is told in {span("told fall", effect="0.4", rate=False)} \
({span("told fall", effect="0.4", rate=True)}): one section for two years is seldom enough, which the command says by
smallest_fall_seen. The corrected ratio of a measure that does nothing is {span("corrected", effect="1", rate=False)}, \
and its interval holds the truth in {span("corrected holds", effect="1", rate=False)}.
For `rate` it is {span("corrected", effect="1", rate=True)}, held in {span("corrected holds", effect="1", rate=True)}: \
where a place was chosen for a true danger that
nothing on file tells, its counts cannot show that it was, and no empirical Bayes (Hauer 1997) can know it; a rise is
told only where the ratio as counted shows it as well. Where the highest counts were chosen and traffic explains much
(explained .8) drawing towards sections of like traffic, not the county's mean, takes out more of the luck; where it
explains nothing it changes little; for `known` the two are about as good.
"""


def main() -> None:
    start = time.process_time()
    cases = [
        (shape, explained, chosen, effect)
        for shape, explained in ((0.5, 0.0), (1.0, 0.0), (3.0, 0.0), (3.0, 0.8))
        for chosen in (("count", "upper", "rate", "known") if explained else ("count", "upper", "rate"))
        for effect in (1.0, 0.4)
    ]
    lines = [run(effect=e, chosen_by=c, shape=s, explained=x) for s, x, c, e in cases]
    told_lines = "\n".join(f"| {' | '.join(cells)} |" for cells in lines)
    head = f"| {' | '.join(HEADS)} |\n|{'--|' * len(HEADS)}\n"
    told = WORDS.format(date=time.strftime("%Y-%m-%d"), seed=SEED, n=N_STUDIES, seconds=time.process_time() - start)
    RESULTS.write_text(told + head + told_lines + "\n" + reading(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
