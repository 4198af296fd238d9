"""From a file of durations to a county's own parameters, with what they foretell beside what was measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.durations import read_durations
from roadwatch.hatch.fitting import DurationFit, days_at, fit_durations, parameter_row

if TYPE_CHECKING:
    from pathlib import Path


@dataclass(frozen=True)
class FittedFile:
    """
    A row of ``development.csv``; days by the fit beside the mean measured at each temperature; and what to know.

    ``expected`` has ``temp_c days days_se measured_days n_eggs``.
    """

    row: pd.DataFrame
    expected: pd.DataFrame
    fit: DurationFit
    notes: tuple[str, ...]


def fit_file(
    path: Path, *, taxon: str = "", region: str = "any", lowest_c: float | None = None, highest_c: float | None = None
) -> FittedFile:
    """
    Fit base and sum to a file of durations.

    Parameters
    ----------
    path
        As ``read_durations`` takes it.
    taxon, region
        Keys of the row that is made.
    lowest_c, highest_c
        Eggs kept below or above are left out, and counted; None takes all.

    Raises
    ------
    NotEnoughDataError
        The durations do not carry a fit; the message gives every reason.
    """
    read = read_durations(path)
    inside = read.table["temp_c"].between(
        -np.inf if lowest_c is None else lowest_c, np.inf if highest_c is None else highest_c
    )
    table = read.table[inside]
    notes = [f"{path.name}: {len(table)} rows used, {len(read.held_back)} held back, {int((~inside).sum())} left out."]
    notes += read.held_back
    clutch = table["clutch"] if table["clutch"].notna().any() else None
    if clutch is not None and clutch.isna().any():
        notes.append(f"{int(clutch.isna().sum())} rows name no clutch; each counts as a clutch of its own.")
        clutch = clutch.where(clutch.notna(), [f"no clutch, row {index}" for index in table.index])
    try:
        fit = fit_durations(
            table["temp_c"].to_numpy(float),
            table["days"].to_numpy(float),
            clutch=None if clutch is None else list(clutch),
            n_eggs=table["n_eggs"].to_numpy(float),
        )
    except NotEnoughDataError as error:
        raise NotEnoughDataError(" ".join([f"{path.name}: {error}", *read.held_back])) from None
    row = pd.DataFrame([parameter_row(fit, taxon=taxon, region=region, source="local_durations")])
    return FittedFile(row, _expected(fit, table), fit, (*notes, *_notes(fit)))


def _expected(fit: DurationFit, table: pd.DataFrame) -> pd.DataFrame:
    rows = []
    for temp, group in table.groupby("temp_c"):
        days, days_se = days_at(fit, float(temp))  # type: ignore[arg-type]
        measured = float(np.average(group["days"], weights=group["n_eggs"]))
        rows.append((float(temp), days, days_se, measured, float(group["n_eggs"].sum())))  # type: ignore[arg-type]
    return pd.DataFrame(rows, columns=["temp_c", "days", "days_se", "measured_days", "n_eggs"])


def _notes(fit: DurationFit) -> list[str]:
    line = fit.line
    plain = (
        f"Plain line of 1/days on temperature, for comparison: base {line.base_c:.2f} ± {line.base_se_c:.2f} °C, "
        f"sum {line.sum_dd:.0f} ± {line.sum_se_dd:.0f} degree-days."
    )
    reach = (
        f"Holds from {fit.temperatures_c[0]:g} to {fit.temperatures_c[-1]:g} °C, where eggs were measured, and for the "
        "population that they came from; do not carry it further."
    )
    notes = [plain, reach, f"Single eggs scatter by {fit.residual_sd:.1%} around the fit."]
    if np.isfinite(fit.clutch_sd):
        notes.append(f"Clutches differ by {fit.clutch_sd:.1%} ({fit.n_clutches} clutches).")
    else:
        notes.append(
            "No clutch is named for more than one egg: eggs count as unrelated, so the errors may be too small."
        )
    if fit.rising_c:
        hot = ", ".join(f"{one:g}" for one in fit.rising_c)
        notes.append(f"Eggs took longer at {hot} °C than at a lower temperature; if that is too hot, use --highest.")
    return notes
