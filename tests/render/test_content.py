import pytest

from roadwatch.errors import RoadwatchError


@pytest.mark.parametrize("part", ["places", "hotspots"])
def test_a_public_page_refuses_what_was_made_for_the_team(season, part):
    secret = getattr(season("team"), part)
    with pytest.raises(RoadwatchError, match=f"the page is for 'public' but its {part} were made for 'team'"):
        season("public", **{part: secret})


def test_a_team_page_refuses_masked_places(season):
    with pytest.raises(RoadwatchError, match="the page is for 'team' but its places were made for 'public'"):
        season("team", places=season("public").places)
