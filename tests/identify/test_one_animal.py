"""One animal: everything that is said of it hangs together."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roadwatch.errors import UsageError
from roadwatch.identify.characters import VIEWS
from roadwatch.identify.one_animal import Place, identify_animal
from roadwatch.identify.questions import Look
from roadwatch.identify.tables import identify_tables

FLORIDA = Place("FL_peninsula")


def of(seen, *, view="in_hand", skill="trained", place=FLORIDA, stage="adult", **options):
    return identify_animal(seen, identify_tables(), look=Look(view, skill, stage), place=place, **options)


def test_the_ranking_holds_every_taxon_once_the_most_probable_first(tables):
    ranking = of({"keel": "none"}).ranking
    assert sorted(taxon for taxon, _, _ in ranking) == sorted(tables.taxa)
    p = [share for _, share, _ in ranking]
    assert p == sorted(p, reverse=True)
    assert sum(p) == pytest.approx(1.0)


def test_what_was_common_before_stands_beside_it(tables):
    before = {taxon: prior for taxon, _, prior in of({"shell_cover": "leathery"}).ranking}
    np.testing.assert_allclose([before[taxon] for taxon in tables.taxa], tables.prior("FL_peninsula"))


def test_a_month_and_a_habitat_move_what_was_common_before():
    def share(taxon, place):
        return next(prior for name, _, prior in of({}, place=place).ranking if name == taxon)

    plain = Place("SC_GA_coastal_plain")
    assert share("Malaclemys terrapin", Place("SC_GA_coastal_plain", habitat="salt_marsh")) > share(
        "Malaclemys terrapin", plain
    )
    assert share("Kinosternon baurii", Place("SC_GA_coastal_plain", month=10)) > share("Kinosternon baurii", plain)


def test_a_stricter_threshold_never_writes_a_finer_name():
    order = ["subspecies", "species", "group", "genus", "family", "order"]
    seen = {"head_side": "thin_stripes_only", "upper_jaw": "notch_with_cusps"}
    ranks = [order.index(of(seen, threshold=threshold).name.rank) for threshold in (0.6, 0.8, 0.9, 0.95, 0.99)]
    assert ranks == sorted(ranks)


def test_what_is_assumed_is_said():
    notes = " ".join(of({}, place=Place(), stage=None).notes)
    assert "7% of which go wrong (assumed, not measured)" in notes
    assert "was not counted" in notes
    assert "No region named" in notes
    assert "Taken as an adult" in notes


def test_a_young_animal_is_named_more_carefully():
    seen = {"upper_jaw": "notch_with_cusps", "plastron_colour": "orange_red_pink"}
    adult, young = of(seen, skill="expert"), of(seen, skill="expert", stage="juvenile")
    assert young.ranking[0][1] < adult.ranking[0][1]
    assert any("tables describe adults" in note for note in young.notes)


def test_an_animal_of_no_table_climbs_instead_of_being_forced():
    # invented: leathery, with a tall dome, spots, stumpy feet and a saw-toothed tail
    odd = {
        "shell_cover": "leathery",
        "carapace_outline": "tall_round_dome",
        "carapace_pattern": "round_yellow_spots",
        "feet": "stumpy_or_shovel",
        "tail": "long_saw_toothed",
        "marginal_top_red": "present",
        "hinge": "two",
    }
    found = of(odd, skill="expert")
    assert found.name.rank == "order"
    assert found.name.written.startswith("Testudines indet.")


def test_skipped_characters_are_not_asked_about():
    first = of({}).questions[0].character.key
    assert first not in {question.character.key for question in of({}, skip=[first]).questions}


def test_an_unknown_skill_is_answered_with_those_that_are():
    with pytest.raises(UsageError, match="skill 'guru' is not in the tables; expected one of novice, trained, expert"):
        of({}, skill="guru")


@given(seed=st.integers(0, 10_000), view=st.sampled_from(VIEWS), n_seen=st.integers(0, 8))
@settings(max_examples=25, deadline=None)
def test_any_evidence_gives_a_whole_answer(seed, view, n_seen):
    rng = np.random.default_rng(seed)
    tables = identify_tables()
    visible = [character for character in tables.characters.values() if character.can_show(view)]
    chosen = rng.permutation(len(visible))[:n_seen]
    seen = {visible[k].key: rng.choice([state.key for state in visible[k].states]) for k in chosen}
    found = of(seen, view=view, skill="novice")
    assert sum(share for _, share, _ in found.ranking) == pytest.approx(1.0)
    assert found.name.p >= 0.8 - 1e-9
    assert len(found.questions) <= 3
    assert all(question.character.can_show(view) for question in found.questions)
    assert not set(seen) & {question.character.key for question in found.questions}
    assert found.cautions[0].startswith("Traffic first")
