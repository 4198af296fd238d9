"""Shares are told so coarsely that one more record does not show."""

import pytest

from roadwatch.share.public_words import public_statements, share_in_words


@pytest.mark.parametrize(
    ("part", "whole", "said"),
    [
        (0, 0, "none"),
        (0, 9, "none"),
        (4, 100, "under 5 %"),
        (6, 100, "about 10 %"),
        (44, 100, "about 40 %"),
        (95, 100, "over 95 %"),
        (96, 100, "over 95 %"),
        (7, 7, "over 95 %"),
    ],
)
def test_a_share_is_told_to_the_nearest_tenth(part, whole, said):
    assert share_in_words(part, whole) == said


def test_no_exact_number_of_masked_records_is_told():
    told = " ".join(public_statements(37, 63))
    assert "37" not in told
    assert "about 40 %" in told
    assert "Crossings of other taxa (63)" in told
