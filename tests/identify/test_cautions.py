"""What is said before anyone touches an animal."""

import numpy as np
import pytest

from roadwatch.identify.cautions import BITES, HANDS, INJURED, LAW, MOVE, TRAFFIC, cautions


def test_traffic_comes_first_and_the_law_last(tables, chances):
    said = cautions(chances(TSS=1.0), tables, view="from_above")
    assert said == (TRAFFIC, MOVE, HANDS, INJURED, LAW)


@pytest.mark.parametrize("code", ["CSE", "MAC", "AFE", "ASP", "SOD", "SMI"])
def test_biters_are_warned_of_even_where_they_are_only_possible(tables, chances, code):
    # common practice, no source: snappers, softshells and musk turtles bite
    assert BITES in cautions(chances(**{code: 0.06, "TSS": 0.94}), tables, view="in_hand")
    assert BITES not in cautions(chances(**{code: 0.04, "TSS": 0.96}), tables, view="in_hand")


def test_a_carcass_bites_nobody_and_is_not_moved(tables, chances):
    assert cautions(chances(CSE=1.0), tables, view="carcass") == (TRAFFIC, HANDS, INJURED, LAW)


def test_nothing_known_warns_of_everything(tables):
    flat = np.full(len(tables.taxa), 1 / len(tables.taxa))
    assert BITES in cautions(flat, tables, view=None)


@pytest.mark.parametrize(
    ("caution", "words"),
    [
        (TRAFFIC, "never stop in a live lane"),
        (MOVE, "in the direction it was heading"),
        (MOVE, "never home"),
        (HANDS, "Salmonella"),
        (INJURED, "licensed wildlife rehabilitator"),
        (LAW, "ask your state wildlife agency"),
        (BITES, "never lift it by the tail"),
    ],
)
def test_each_caution_says_what_to_do(caution, words):
    assert words in caution
