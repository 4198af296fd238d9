"""Quality flags after the archive's readme."""

import pytest

from roadwatch.records.readers.ghcn_flags import MEANING, flag_reason


def test_the_fourteen_flags_of_the_readme_are_known():
    assert set(MEANING) == set("DGIKLMNORSTWXZ")


@pytest.mark.parametrize(("flag", "meaning"), [("X", "bounds"), ("Z", "official investigation"), ("?", "not listed")])
def test_a_reason_names_the_flag_its_meaning_and_the_cure(flag, meaning):
    reason = flag_reason(flag)
    assert f"flag {flag}" in reason
    assert meaning in reason
    assert "take it from another station" in reason
