"""The printed page of a plan: a sheet a person, safe text, no network."""

import hashlib
import re
from base64 import b64encode

import pandas as pd
import pytest

from roadwatch.render.rounds_page import rounds_page

CAUTIONS = ("Never dig to check a nest.", "Wash hands.")


@pytest.fixture
def write():
    """Write a page of two people, with anything changed."""

    def make(*, reason="caged: look", names=("Ada", "Bo"), left=None):
        visits = pd.DataFrame(
            [
                {
                    "date": f"2025-07-{16 + k}",
                    "nest_id": f"n{k}",
                    "observer": name,
                    "order": 1,
                    "reason": reason,
                    "p_emergence_by_next_visit": 0.125,
                    "minutes": 15.0,
                    "km": 2.0,
                    "caged": k == 0,
                    "note": "ask first",
                }
                for k, name in enumerate(names)
            ],
            columns=["date", "nest_id", "observer", "order", "reason", "p_emergence_by_next_visit", "caged", "note"],
        )
        rounds = pd.DataFrame(
            {"date": visits["date"], "observer": visits["observer"], "nests": 1, "minutes": 65, "km": 12.3}
        )
        places = pd.DataFrame(
            {
                "nest_id": ["n0", "n1"],
                "taxon": "Trachemys scripta",
                "longitude": -81.9,
                "latitude": 31.7,
                "access_longitude": -81.91,
                "access_latitude": 31.71,
            }
        )
        left_out = pd.DataFrame(left or [], columns=["nest_id", "reason", "fallback", "is_caged"])
        return rounds_page(visits, rounds, places, left_out, title="Nest rounds", notes=["A note."], cautions=CAUTIONS)

    return make


def test_everybody_has_a_sheet_with_days_and_nests(write):
    page = write()
    assert page.count('<section class="person" id=') == 2
    assert "Wednesday 2025-07-16" in page  # by the calendar
    assert "about 1 h 05 min, 12 km by road" in page
    assert "come up before the next visit: 12.5%." in page
    assert page.count('<span class="cage">caged</span>') == 1


def test_every_sheet_says_that_it_is_for_the_team_and_repeats_the_cautions(write):
    page = write()
    assert page.count("Team only.") == 3  # the page and two sheets
    assert page.count("Never dig to check a nest.") == 2


def test_places_are_given_to_about_a_metre(write):
    assert "Leave the road at 31.71000, -81.91000; nest at 31.70000, -81.90000" in write()


def test_printed_every_person_begins_a_new_sheet(write):
    assert re.search(r"@media print \{[^@]*\.person \{ break-before: page", write())


def test_nothing_is_asked_of_a_network_and_only_this_style_is_allowed(write):
    page = write()
    style = re.search(r"<style>(.*?)</style>", page, re.DOTALL)[1]
    digest = b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert f"default-src 'none'; style-src 'sha256-{digest}'" in page
    assert "<script" not in page
    assert not re.search(r'(src|href)="(?!#)', page)


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "{reason}", "a & b"])
def test_text_of_strangers_is_shown_and_never_run(write, text):
    page = write(reason=text, names=(text, "Bo"))
    assert "<script" not in page
    assert "<img" not in page
    if text == "{reason}":
        assert "{reason}" in page


def test_nests_without_a_visit_are_listed_with_what_to_do(write):
    page = write(left=[("n7", "no window: unknown taxon", "look in", True)])
    assert "Nests without a visit" in page
    assert "n7 (caged)" in page
    assert "look in" in page


def test_a_plan_without_visits_says_so(write):
    page = write(names=())
    assert "No visit is planned in these days." in page
    assert '<section class="person"' not in page


def test_one_person_needs_no_index(write):
    assert "<nav" in write()
    assert "<nav" not in write(names=("Ada",))
