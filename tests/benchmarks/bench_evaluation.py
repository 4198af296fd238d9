"""How often evaluations raise a false alarm, how far off they are, and how often their intervals hold the truth."""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulators.measures import simulate_study

from roadwatch.errors import NotEnoughDataError

N_STUDIES, SEED = 200, 20260


def run(*, effect: float, chosen_by: str, shape: float) -> str:
    rng = np.random.default_rng(SEED)
    studies = []
    while len(studies) < N_STUDIES:
        try:
            studies.append(simulate_study(rng, effect=effect, chosen_by=chosen_by, shape=shape))
        except NotEnoughDataError:
            continue
    naive, corrected = [s.naive for s in studies], [s.corrected for s in studies]
    cells = [
        f"{effect:g}",
        chosen_by,
        f"{shape:g}",
        f"{np.median([s.before_after for s in studies]):.2f}",
        f"{np.nanmedian([one.ratio for one in naive]):.2f}",
        f"{np.median([one.ratio for one in corrected]):.2f}",
    ]
    for found in (naive, corrected):
        cells += [
            f"{np.mean([one.low <= effect <= one.high for one in found]):.3f}",
            f"{np.mean([one.high < 1 for one in found]):.3f}",
            f"{np.mean([one.low > 1 for one in found]):.3f}",
        ]
    told = [
        np.mean([n.high < 1 and c.high < 1 for n, c in zip(naive, corrected, strict=True)]),
        np.mean([n.low > 1 and c.low > 1 for n, c in zip(naive, corrected, strict=True)]),
    ]
    cells += [f"{share:.3f}" for share in told]
    return "| " + " | ".join(cells) + " |"


if __name__ == "__main__":
    start = time.perf_counter()
    heads = "effect|chosen by|shape|before/after|ratio|corrected|ratio holds|fall|rise|corrected holds|fall|rise"
    heads += "|told fall|told rise"
    sys.stdout.write(f"| {heads.replace('|', ' | ')} |\n")
    sys.stdout.write("|" + "--|" * 14 + "\n")
    for shape in (0.5, 1.0, 3.0):
        for chosen in ("count", "upper", "rate"):
            for effect in (1.0, 0.4):
                sys.stdout.write(run(effect=effect, chosen_by=chosen, shape=shape) + "\n")
                sys.stdout.flush()
    sys.stdout.write(f"\nSeed {SEED}, {N_STUDIES} studies a line, {time.perf_counter() - start:.0f} s.\n")
