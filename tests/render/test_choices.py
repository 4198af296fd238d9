from calendar import month_name
from datetime import date, timedelta

import pytest

from roadwatch.records.taxonomy import taxonomy_of
from roadwatch.render.choices import choices_of, day_of_year, day_words, sureness_percent, taxon_choices


@pytest.mark.parametrize("year", [2023, 2024, 2025])
def test_days_count_as_in_a_leap_year_whatever_the_year(year):
    days = [date(year, 1, 1) + timedelta(number) for number in range(365 + (year == 2024))]
    for day in days:
        assert day_of_year(day.isoformat()) == date(2024, day.month, day.day).timetuple().tm_yday


def test_every_day_of_a_leap_year_has_a_name_that_reads_back():
    for number in range(1, 367):
        day = date(2024, 1, 1) + timedelta(number - 1)
        assert day_words(number) == f"{day.day} {month_name[day.month]}"


@pytest.mark.parametrize("text", ["", "in May", "2025", "2025-13-01", "2025-02-30"])
def test_what_is_no_date_has_no_day(text):
    assert day_of_year(text) == 0


@pytest.mark.parametrize(
    ("text", "percent"),
    [("80 %", 80), ("100 %", 100), ("likely", 80), ("certain", 95), ("unsure", 50), ("", -1), ("maybe", -1)],
)
def test_sureness_is_a_share_or_its_word(text, percent):
    assert sureness_percent(text) == percent


def test_a_group_is_offered_when_it_holds_two_of_the_names():
    taxa = taxon_choices(["Trachemys scripta", "Pseudemys nelsoni", "Chelydra serpentina"], [], taxonomy_of())
    assert [(taxon.name, taxon.depth) for taxon in taxa] == [
        ("Chelydra serpentina", 0),
        ("Emydidae", 0),
        ("Pseudemys nelsoni", 1),
        ("Trachemys scripta", 1),
    ]
    assert {taxon.name: taxon.within for taxon in taxa}["Emydidae"] == ("Pseudemys nelsoni", "Trachemys scripta")


def test_a_subspecies_counts_with_its_species_and_not_the_other_way():
    names = ["Trachemys scripta elegans", "Trachemys scripta"]
    within = {taxon.name: taxon.within for taxon in taxon_choices(names, [], taxonomy_of())}
    assert within["Trachemys scripta"] == ("Trachemys scripta", "Trachemys scripta elegans")
    assert within["Trachemys scripta elegans"] == ("Trachemys scripta elegans",)


def test_a_name_outside_the_tree_stands_by_itself_at_the_end():
    taxa = taxon_choices(["Wrenfoot", "Chelydra serpentina"], [], taxonomy_of())
    assert [(taxon.name, taxon.within) for taxon in taxa][-1] == ("Wrenfoot", ("Wrenfoot",))


def test_a_taxon_that_hotspots_were_computed_for_is_offered_though_no_record_carries_it():
    assert [taxon.name for taxon in taxon_choices([], ["Gopherus polyphemus"], taxonomy_of())] == [
        "Gopherus polyphemus"
    ]


def test_all_turtles_are_no_choice_of_their_own():
    names = {taxon.name for taxon in taxon_choices(["Testudines", "Chelydra serpentina"], [], taxonomy_of())}
    assert "Chelydra serpentina" in names
    assert names <= {"Testudines", "Chelydra serpentina"}


def test_choices_come_from_what_the_page_shows(season):
    found = choices_of(season("team"))
    assert found.years == ("2025",)
    assert found.sureness == ((50, "unsure"), (80, "likely"), (95, "certain"))
    assert (found.first_day, found.last_day) == (101, 246)  # 10 April, and 2 September, the end of the last window


def test_the_public_can_choose_nothing_that_it_is_not_shown(season):
    found = choices_of(season("public"))
    assert "Terrapene carolina" not in {name for taxon in found.taxa for name in (taxon.name, *taxon.within)}
    assert found.last_day < 246


def test_a_season_without_a_day_has_the_whole_year(season):
    content = season("team", n=0)
    empty = season("team", n=0)
    for column in ("found_at", "laid_from", "window_early", "window_late"):
        empty.places.nests[column] = None
    assert (choices_of(empty).first_day, choices_of(empty).last_day) == (1, 366)
    assert choices_of(content).years == ("2025",)
