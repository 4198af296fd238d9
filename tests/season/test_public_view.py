"""What the public sees of a season never holds a nest's place."""

from datetime import date

import pandas as pd

from roadwatch.season.public_view import season_view, sensitive_names


def test_the_public_sees_no_nest_and_the_team_does(county, crossing, nest):
    county.ingest("c.csv", [crossing(), crossing(0.02, taxon="box turtle")])
    county.ingest("n.csv", [nest()])
    public = season_view(county.season, audience="public", today=date(2025, 7, 1))
    team = season_view(county.season, audience="team", today=date(2025, 7, 1))
    assert public.places.nests.empty
    assert len(public.places.crossings) == 1
    assert len(team.places.nests) == 1
    assert len(team.places.crossings) == 2


def test_an_empty_season_can_be_shown(county):
    assert season_view(county.season, audience="public", today=date(2025, 7, 1)).years == ("", "")


def test_sensitive_names_reach_up_to_everything_that_holds_them():
    # common practice, no source: gopher tortoises, box turtles and terrapins are kept from collectors
    assert {
        "Gopherus polyphemus",
        "Terrapene carolina",
        "Malaclemys terrapin",
        "Emydidae",
        "cooter group",
        "Testudines",
    } <= sensitive_names()
    assert "Chelydra serpentina" not in sensitive_names()


def test_nests_stand_in_the_order_of_a_coordinators_need(county, nest):
    county.ingest("n.csv", [nest(nest_id=f"n{k}") for k in range(1, 5)])
    windows = pd.DataFrame(
        {
            "nest_id": ["n1", "n2", "n3", "n4"],
            "hatch_likely": ["2025-08-09", None, "2025-08-01", "2024-08-01"],
            "hatch_late": ["2025-08-20", None, None, "2024-08-20"],
        }
    )
    view = season_view(county.season, audience="team", today=date(2025, 7, 1), windows=windows)
    assert view.places.nests["nest_id"].tolist() == ["n3", "n1", "n4", "n2"]
