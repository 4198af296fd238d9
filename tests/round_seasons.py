"""A tiny invented county with equal summers, nests and people, for tests of nest rounds."""

from datetime import date, timedelta

from tiny_county import CENTRE, County


def ingest_summers(county: County) -> County:
    """Ingest invented daily temperatures: 20 equal years, 18 to 30 degrees C from April to October."""
    rows, day = [], date(2005, 1, 1)
    while day <= date(2025, 7, 15):
        low, high = (18, 30) if 4 <= day.month <= 10 else (5, 15)
        rows.append({"series_id": "invented", "date": day, "tmin_c": low, "tmax_c": high})
        day += timedelta(days=1)
    assert county.ingest("weather.csv", rows).exit_code == 0
    return county


def nest_row(name: str, *, east: float = 0.01, **changes) -> dict:
    """A slider's nest beside the east-west road of the tiny county; a plain summer hatches it in mid-August."""
    row = {
        "nest_id": name,
        "found_at": "2025-06-01",
        "laid_on": "2025-06-01",
        "longitude": CENTRE[0] + east,
        "latitude": CENTRE[1] + 0.0005,
        "taxon": "Trachemys scripta",
        "id_confidence": "0.95",
        "exposure": "partial",
        "protected_on": "",
        "protected_off": "",
        "open_with": "",
        "visit_minutes": 10,
        "landowner_ok": "true",
    }
    return row | changes


def person_row(name: str, **changes) -> dict:
    """Somebody who starts at the crossroads and comes three days a week for three hours."""
    row = {
        "observer": name,
        "start_longitude": CENTRE[0],
        "start_latitude": CENTRE[1],
        "days": "Mo;We;Fr",
        "hours_per_day": 3,
        "may_open_nests": "true",
    }
    return row | changes


def round_county(county: County, *, nests=None, people=None, checks=None) -> County:
    """Ingest weather, nests, people and checks."""
    ingest_summers(county)
    made = nests or [nest_row("n1"), nest_row("n2", east=0.02, protected_on="2025-06-02"), nest_row("n3", east=-0.01)]
    assert county.ingest("nests.csv", made).exit_code in {0, 3}
    if people is None:
        people = [person_row("Ada"), person_row("Bo", days="Tu;Th;Sa;Su", may_open_nests="false")]
    if people:
        assert county.ingest("people.csv", people, "--as", "people").exit_code == 0
    if checks:
        assert county.ingest("checks.csv", checks, "--as", "checks").exit_code == 0
    return county
