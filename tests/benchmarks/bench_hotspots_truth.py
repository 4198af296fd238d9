"""
False alarms, power, precision and recall on simulated counties, beside a plain pipeline on the same counties.

Run ``python tests/benchmarks/bench_hotspots_truth.py [counties]``; it writes ``results_hotspots_truth.md`` and the
numbers of each county to ``results_hotspots_truth.csv`` beside it. Seeds are the county numbers.
"""

import os
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import stats

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulators import reference
from simulators.county import make_land, simulate
from simulators.pipeline import search
from simulators.scoring import score, stretches_of

LANDS = 8
FEWER = 60  # counties of the cases that are asked about beside the main ones
N_DRAWS = 499
HERE = Path(__file__).parent
CASES = {  # name: (options of the county, baseline)
    "null, even background": ({"n_hot": 0, "follows_traffic": False}, "search"),
    "null, background follows traffic": ({"n_hot": 0, "follows_traffic": True}, "traffic"),
    "null, background follows traffic, not told": ({"n_hot": 0, "follows_traffic": True}, "search"),
    "four hotspots, background follows traffic": ({"n_hot": 4, "follows_traffic": True}, "traffic"),
    "four hotspots, even background": ({"n_hot": 4, "follows_traffic": False}, "search"),
    "four one-year decoys, background follows traffic": ({"n_hot": 0, "decoys": 4}, "traffic"),
}
MAIN = [name for name in CASES if "decoys" not in name and "not told" not in name]


def one(land, name, seed):
    options, beyond = CASES[name]
    county = simulate(land, seed, **options)
    rows = []
    start = time.perf_counter()
    result = search(county, beyond=beyond, n_draws=N_DRAWS, seed=seed)
    spent = time.perf_counter() - start
    share = stretches_of(land, result.hotspots)
    mine = score(land, county.hot, share, county.rate, result.null.surprise)
    mine["confirmed"] = bool((result.hotspots["status"] == "confirmed").any())
    mine["decoys_labelled"] = result.hotspots["one_season"].mean() if len(result.hotspots) else np.nan
    rows.append({"case": name, "seed": seed, "who": "roadwatch", "seconds": spent, **mine})
    offset = np.nansum(list(county.effort_km.values()), axis=0)
    if beyond == "traffic":  # the plain pipeline is given the true power and the true traffic
        offset = offset * land.traffic**0.5
    marked, surprise = reference.find(land, county.records, offset, n_draws=N_DRAWS, seed=seed)
    plain = score(land, county.hot, marked.astype(float), county.rate, surprise)
    rows.append({"case": name, "seed": seed, "who": "plain", **plain})
    return rows


def interval(k, n):
    low, high = stats.beta.ppf([0.025, 0.975], [k, k + 1], [n - k + 1, n - k])
    return f"{k / n:.3f} ({0.0 if k == 0 else low:.3f}-{1.0 if k == n else high:.3f})"


def mean(values):
    values = np.asarray(values, dtype=float)
    half = 1.96 * np.nanstd(values, ddof=1) / np.sqrt(np.sum(~np.isnan(values)))
    return f"{np.nanmean(values):.3f} ± {half:.3f}"


def report(table):
    lines = ["| case | who | counties | any hotspot | power | precision | recall | PAI at 1 % |", "|---" * 8 + "|"]
    for (case, who), rows in table.groupby(["case", "who"], sort=False):
        cells = [case, who, str(len(rows)), interval(int(rows["any"].sum()), len(rows))]
        if "power" in rows and rows["power"].notna().any():
            precision = rows["right_m"].sum() / max(rows["found_m"].sum(), 1e-9)
            cells += [mean(rows["power"]), f"{precision:.3f}", mean(rows["recall"]), mean(rows["pai"])]
        else:
            cells += [""] * 4
        lines.append("| " + " | ".join(cells) + " |")
    lines += ["", "Pair by pair, roadwatch less plain:", ""]
    for case, rows in table.groupby("case", sort=False):
        if rows["power"].notna().any():
            wide = rows.pivot(index="seed", columns="who", values=["power", "recall", "pai"])
            told = [f"{k} {mean(wide[k]['roadwatch'] - wide[k]['plain'])}" for k in ("power", "recall", "pai")]
            lines.append(f"- {case}: {', '.join(told)}")
    labelled = table["decoys_labelled"][(table["who"] == "roadwatch") & table["case"].str.contains("decoys")]
    if labelled.notna().any():
        lines.append(f"- one-year decoys that were found, labelled as one season: {mean(labelled)}")
    return lines


def main(counties):
    lands = [make_land(number) for number in range(LANDS)]
    rows = []
    for seed in range(counties):
        for name in list(CASES) if seed < FEWER else MAIN:
            rows += one(lands[seed % LANDS], name, seed)
        pd.DataFrame(rows).to_csv(HERE / "results_hotspots_truth.csv", index=False, float_format="%.4g")
    table = pd.DataFrame(rows)
    how = (
        f"Up to {counties} counties a case (seeds from 0 over {LANDS} road networks of about 440 km), 120 records "
        f"expected, 6 % doubles, 10 % misidentified, 3 % far off; {N_DRAWS} scatterings; 2 cores, 24 GiB, numpy "
        f"{np.__version__}. Intervals hold 95 % (Clopper-Pearson; mean ± 1.96 standard errors). Plain pipeline: see "
        "tests/simulators/reference.py; it is given the true power of traffic, roadwatch fits it from the records."
    )
    lines = ["# Hotspots: false alarms, power and precision", "", how, "", *report(table), ""]
    (HERE / "results_hotspots_truth.md").write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
