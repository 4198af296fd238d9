import math

import pytest

from roadwatch.records.fields import fields_of
from roadwatch.render.legend import (
    BACKGROUND,
    CAUTIONS,
    CELL,
    CONDITIONS,
    INK,
    MEASURES,
    NEST_STATES,
    STRENGTHS,
    UNKNOWN_STRENGTH,
    legend,
    sentences,
    strength_of,
)
from roadwatch.share.windows import WINDOW_STATES

PAPER = "#fffdf7"
# matplotlib 3.11.2, colormaps["cividis_r"] at 0, 0.25, 0.5, 0.75 and 1, through to_hex.
CIVIDIS_REVERSED = ["#fee838", "#bbad6d", "#7c7b78", "#424e6c", "#00224e"]
# Okabe & Ito 2008, the eight colours as web values.
OKABE_ITO = {"#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7"}


def luminance(colour):
    """Relative luminance as WCAG 2.2 defines it."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_on_white_is_21():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)  # WCAG 2.2, definition of contrast ratio


def test_hotspot_colours_are_reversed_cividis():
    assert [sign.colour for sign in STRENGTHS] == CIVIDIS_REVERSED


def test_stronger_hotspots_are_darker_and_wider():
    light = [luminance(sign.colour) for sign in STRENGTHS]
    assert light == sorted(light, reverse=True)
    widths = [sign.width for sign in STRENGTHS]
    assert widths == sorted(set(widths))


def test_conditions_differ_in_shape_and_in_colour():
    assert len({sign.shape for sign in CONDITIONS}) == len({sign.colour for sign in CONDITIONS}) == 4
    assert {sign.colour for sign in CONDITIONS} - {"#ffffff"} <= OKABE_ITO


def test_the_casing_stands_out_from_the_paper():
    assert contrast(INK, PAPER) >= 3.0  # WCAG 2.2, 1.4.11


def test_there_is_a_sign_for_every_condition_measure_and_window_state():
    assert {sign.key for sign in CONDITIONS} == set(fields_of("crossings")["condition"].choices)
    assert {sign.key for sign in MEASURES} == set(fields_of("measures")["kind"].choices)
    assert [sign.key for sign in NEST_STATES] == list(WINDOW_STATES)


@pytest.mark.parametrize(
    ("ratio", "place"),
    [(0.0, 0), (1.99, 0), (2.0, 1), (3.0, 2), (5.0, 3), (9.99, 3), (10.0, 4), (1e6, 4), (math.nan, -1)],
)
def test_a_ratio_falls_in_the_class_whose_lower_bound_it_reaches(ratio, place):
    assert strength_of(ratio) == place


def test_the_legend_tells_every_sign_in_words():
    team, public = str(legend("team")), str(legend("public"))
    for sign in (*STRENGTHS, UNKNOWN_STRENGTH, *CONDITIONS, *MEASURES, *BACKGROUND):
        assert sign.words in team
        assert sign.words in public
    assert all(sign.words in team and sign.words not in public for sign in NEST_STATES)
    assert CELL.words in public
    assert CELL.words not in team


def test_cautions_begin_with_traffic_and_end_with_the_law():
    assert CAUTIONS[0].startswith("Traffic first.")
    assert "do not dig" in CAUTIONS[1]
    assert "do not show why" in CAUTIONS[2]
    assert "Local codes and licensed practice decide" in CAUTIONS[3]


def test_sentences_are_escaped():
    assert "<li>&lt;b&gt;</li>" in sentences("Notes", ["<b>"], element_id="n")
