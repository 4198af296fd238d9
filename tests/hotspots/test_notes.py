"""The notes can be read alone: whole sentences, no jargon of programs."""

import numpy as np
import pytest

from roadwatch.hotspots.search import find_hotspots
from roadwatch.roads.stretches import cut_stretches


@pytest.fixture
def notes_of(county, records):
    def make(stretch, **columns):
        network = county(4, 800.0)
        stretches = cut_stretches(network)
        table = records(stretches, stretch, **columns)
        rng = np.random.default_rng(1)
        return find_hotspots(network, stretches, table, effort_km=None, n_draws=99, rng=rng).notes

    return make


@pytest.mark.parametrize("n", [6, 40])
def test_every_note_is_a_sentence(notes_of, n):
    for note in notes_of(np.arange(n) * 5):
        assert note[0].isupper() or note[0].isdigit()
        assert note.endswith((".", "?", "year."))
        assert "nan" not in note.split()


def test_a_provisional_hotspot_says_why(notes_of):
    notes = notes_of([50] * 20 + list(range(0, 200, 10)), observer=["one"] * 40, year=[2021] * 40)
    assert any("0 confirmed and 1 provisional" in note for note in notes)
    assert (
        "Provisional: fewer than 3 animals (unsure ones counted in part) or 2 dates, one observer in one year only, "
        "or, of a taxon asked for, standing out in fewer than half of the sets of names drawn for the records." in notes
    )


def test_a_confirmed_hotspot_is_told_with_its_false_alarm_rate(notes_of):
    notes = notes_of([50] * 20 + list(range(0, 200, 10)))
    assert any(
        note.startswith("1 confirmed and 0 provisional: if no road were special, one map in 20") for note in notes
    )
    assert not any(note.startswith("Provisional") for note in notes)


def test_the_notes_end_with_what_a_hotspot_does_not_tell(notes_of):
    assert "it does not tell why" in notes_of(np.arange(40) * 5)[-1]
