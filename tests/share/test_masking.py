from dataclasses import replace
from datetime import date

import pandas as pd
import pytest
from share.names_for_sharing import KNOWN, SENSITIVE

from roadwatch.errors import RoadwatchError
from roadwatch.share.masking import TEAM_WORDS, ShownPlaces, must_mask, show_places
from roadwatch.share.public_words import RELEASES_WORDS

NEAR = [(-82.301, 29.601), (-82.302, 29.602), (-82.303, 29.603)]
SAME_SQUARE_APART = [(-82.30, 29.60), (-82.31, 29.61), (-82.35, 29.605)]


def show(crossings, nests, windows=None, *, audience="public"):
    return show_places(
        crossings, nests, windows, audience=audience, today=date(2025, 8, 1), sensitive=SENSITIVE, known=KNOWN
    )


def names(**columns):
    return pd.DataFrame(columns)


def all_text(places):
    return " ".join(
        table.drop(columns="geometry").to_csv(index=False) + table.geometry.to_wkt().str.cat(sep=" ")
        for table in (places.crossings, places.nests, places.cells)
    )


@pytest.mark.parametrize(
    ("name", "masked"),
    [
        ("Terrapene carolina", True),
        ("terrapene CAROLINA", True),  # letters' case does not matter
        ("Terrapene carolina major", True),  # lies within a sensitive taxon
        ("Terrapene", True),  # may be one
        ("Terrapene sp.", True),
        ("cf. Terrapene carolina", True),
        ("Trachemys scripta", False),
        ("Trachemys sp.", False),
        ("box turtle", True),  # not in the table: may be anything
        ("", True),
        ("   ", True),
        (None, True),
        (float("nan"), True),
    ],
)
def test_a_name_is_masked_when_it_is_or_may_be_a_sensitive_taxon(name, masked):
    table = pd.DataFrame({"taxon": pd.Series([name], dtype=object)})
    assert must_mask(table, sensitive=SENSITIVE, known=KNOWN).tolist() == [masked]


def test_the_probability_of_a_sensitive_taxon_is_believed_over_a_name_that_can_be_a_harmless_one():
    table = names(
        taxon=["Trachemys scripta", "Trachemys scripta", "Emydidae", None, "Emydidae"],
        p_sensitive=[0.05, 0.049, 0.0, 0.01, 0.3],
    )
    assert must_mask(table, sensitive=SENSITIVE, known=KNOWN).tolist() == [True, False, False, False, True]


@pytest.mark.parametrize("name", ["Terrapene carolina", "Terrapene carolina major", "Terrapene", "Terrapene sp."])
def test_no_probability_opens_a_name_that_can_be_nothing_but_sensitive(name):
    # all turtles of the invented table that are called Terrapene are sensitive
    table = names(taxon=[name], p_sensitive=[0.0])
    assert must_mask(table, sensitive=(*SENSITIVE, "Terrapene", "Emydidae"), known=KNOWN).tolist() == [True]


def test_a_genus_that_holds_harmless_species_too_goes_by_the_probability():
    known = (*KNOWN, "Terrapene ornata")
    table = names(taxon=["Terrapene", "Terrapene"], p_sensitive=[0.01, 0.2])
    assert must_mask(table, sensitive=SENSITIVE, known=known).tolist() == [False, True]


@pytest.mark.parametrize(
    ("verified", "masked"), [("Trachemys scripta", False), ("Emydidae", True), (None, True), ("slider", True)]
)
def test_only_a_second_persons_name_for_a_harmless_taxon_opens_a_sensitive_one(verified, masked):
    table = names(taxon=["Terrapene carolina"], verified_taxon=[verified], p_sensitive=[0.0])
    sensitive = (*SENSITIVE, "Emydidae")
    assert must_mask(table, sensitive=sensitive, known=KNOWN).tolist() == [masked]


def test_a_verified_sensitive_name_masks_whatever_the_probability():
    table = names(taxon=["Trachemys scripta"], verified_taxon=["Terrapene carolina"], p_sensitive=[0.0])
    assert must_mask(table, sensitive=SENSITIVE, known=KNOWN).tolist() == [True]


def test_a_record_without_that_probability_falls_back_to_its_name():
    table = names(taxon=["Trachemys scripta", "Terrapene carolina"], p_sensitive=[float("nan"), None])
    assert must_mask(table, sensitive=SENSITIVE, known=KNOWN).tolist() == [False, True]


def test_a_verified_sensitive_name_masks_a_record_written_as_a_common_one():
    table = names(taxon=["Trachemys scripta"] * 2, verified_taxon=["Terrapene carolina", None])
    assert must_mask(table, sensitive=SENSITIVE, known=KNOWN).tolist() == [True, False]


def test_no_records_need_no_mask():
    assert must_mask(names(taxon=[]), sensitive=SENSITIVE, known=KNOWN).tolist() == []


def test_the_team_sees_every_place_exactly_and_is_told_not_to_pass_it_on(crossings, nests):
    places = show(crossings(NEAR, taxon="Terrapene carolina"), nests(NEAR), audience="team")
    assert [(point.x, point.y) for point in places.crossings.geometry] == NEAR
    assert [(point.x, point.y) for point in places.nests.geometry] == NEAR
    assert places.statements == (TEAM_WORDS,)
    assert places.cells.empty
    assert places.n_masked == places.n_withheld == 0


def test_the_public_sees_no_nest_and_no_place_of_one(crossings, nests):
    places = show(crossings([]), nests(SAME_SQUARE_APART))
    assert places.nests.empty
    assert places.cells[["what", "records"]].values.tolist() == [["nests", 3]]
    for longitude, latitude in SAME_SQUARE_APART:
        assert f"{longitude} {latitude}" not in all_text(places)


def test_sensitive_crossings_become_counts_and_common_ones_stay_on_the_road(crossings, nests):
    records = crossings([*NEAR, (-82.2, 29.5)], taxon=["Terrapene carolina"] * 3 + ["Trachemys scripta"])
    places = show(records, nests([]))
    assert [(point.x, point.y) for point in places.crossings.geometry] == [(-82.2, 29.5)]
    assert places.cells[["what", "records"]].values.tolist() == [["crossings", 3]]
    assert (places.n_masked, places.n_withheld) == (3, 0)


def test_a_square_with_fewer_than_three_records_is_left_out_and_counted(crossings, nests):
    places = show(crossings(NEAR[:2], taxon="Terrapene carolina"), nests(NEAR[:2]))
    assert places.cells.empty
    assert (places.n_masked, places.n_withheld) == (0, 4)
    assert "over 95 % are masked" in places.statements[0]


def test_nests_and_sensitive_crossings_are_not_added_up_to_reach_three(crossings, nests):
    places = show(crossings(NEAR[:1], taxon="Terrapene carolina"), nests(NEAR[:2]))
    assert places.cells.empty


def test_the_public_reads_no_observer_note_photo_id_or_time_of_day(crossings, nests):
    places = show(crossings(NEAR), nests(NEAR))
    assert list(places.crossings.columns) == ["day", "taxon", "id_confidence", "count", "condition", "geometry"]
    assert places.crossings["day"].tolist() == ["2025-05-12"] * 3
    for secret in ("Warden", "Keeper", "culvert", "oak", "IMG_1", "07:40", "R0", "N0"):
        assert secret not in all_text(places)


def test_the_public_reads_months_of_windows_but_no_day(crossings, nests, windows):
    spans = [("2025-07-20", "2025-08-06"), ("2025-08-01", "2025-08-20"), ("2025-08-10", "2025-09-02")]
    places = show(crossings([]), nests(NEAR), windows(spans))
    assert places.cells["months"].tolist() == ["July to September"]
    assert "2025" not in all_text(places)


def test_the_team_sees_window_and_state_of_each_nest(crossings, nests, windows):
    places = show(crossings([]), nests(NEAR), windows([("2025-07-20", "2025-08-06")]), audience="team")
    assert places.nests["window_early"].tolist() == ["2025-07-20", None, None]
    assert places.nests["window_state"].tolist() == ["open", "none", "none"]


def test_the_public_view_says_how_much_was_masked_and_how_releases_change(crossings, nests):
    places = show(crossings([*NEAR, (-82.2, 29.5)], taxon=["Terrapene carolina"] * 3 + ["Trachemys"]), nests(NEAR))
    assert "about 90 % are masked" in places.statements[0]  # 6 of 7
    assert "10 km by 10 km" in places.statements[0]
    assert places.statements[1].startswith("Crossings of other taxa (1) stand where they were recorded")
    assert places.statements[2] == RELEASES_WORDS


def test_moving_nests_within_their_square_changes_nothing_the_public_gets(crossings, nests):
    before = show(crossings([]), nests(NEAR))
    after = show(crossings([]), nests(SAME_SQUARE_APART))
    assert all_text(before) == all_text(after)
    assert before.statements == after.statements


def test_the_order_of_records_does_not_show_in_the_squares(crossings, nests):
    far = [(-82.601, 29.601), (-82.602, 29.602), (-82.603, 29.603)]
    assert all_text(show(crossings([]), nests([*NEAR, *far]))) == all_text(show(crossings([]), nests([*far, *NEAR])))


def test_an_empty_season_can_be_shown_to_both(crossings, nests):
    for audience in ("team", "public"):
        places = show(crossings([]), nests([]), audience=audience)
        assert places.crossings.empty
        assert places.cells.empty


def test_an_unknown_audience_is_refused(crossings, nests):
    with pytest.raises(RoadwatchError, match="audience 'press' is not known; ask for 'public' or 'team'"):
        show(crossings([]), nests([]), audience="press")


def test_places_cannot_be_built_by_hand(crossings, nests):
    made = show(crossings(NEAR), nests(NEAR))
    with pytest.raises(RoadwatchError, match="only be shown through show_places"):
        ShownPlaces("public", made.crossings, made.nests, made.cells, 0, 0, ())


def test_sealed_places_cannot_be_changed_into_others(crossings, nests):
    made = show(crossings(NEAR), nests(NEAR), audience="team")
    with pytest.raises(RoadwatchError, match="build none by hand"):
        replace(made, audience="public")
