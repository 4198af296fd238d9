"""The phone names an animal as the command line does: the same numbers, names and next looks."""

import numpy as np
import pandas as pd
import pytest
from render.form_pages import REGION, form_html, opened, random_animals

from roadwatch.identify.cautions import BITES, cautions
from roadwatch.identify.evidence import evidence_of
from roadwatch.identify.naming import honest_name, is_prior_driven, needs_second_person
from roadwatch.identify.one_animal import Place, identify_animal
from roadwatch.identify.posterior import posterior
from roadwatch.identify.questions import Look, next_questions
from roadwatch.identify.tables import identify_tables
from roadwatch.render.form_tables import identification_data

N_ANIMALS = 220
ASK = (
    "animals => animals.map(({seen, month, mm, ...look}) => {"
    "const m = month ? String(month).padStart(2, '0') : '';"
    "const found = identifyAnimal(seen, {...look, carapaceMm: mm}, m);"
    "return {p: found.p, written: found.name.written, name_p: found.name.p, compared: found.name.compared,"
    "next: found.questions.map(({character, bits, pChange}) => [character.key, bits, pChange]),"
    "prior_driven: found.priorDriven, second: found.second, may_bite: found.mayBite} })"
)


def by_python(animal, tables, region):
    """What the package says of the animal, by the same functions as ingest and the command line."""
    look = Look(animal["view"], animal["skill"], animal["lifeStage"], animal["head"])
    row = {f"seen_{key}": text for key, text in animal["seen"].items()}
    row |= {"observer_skill": animal["skill"], "view": animal["view"], "life_stage": animal["lifeStage"]}
    row["carapace_mm"] = np.nan if animal["mm"] is None else animal["mm"]
    evidence = evidence_of(pd.DataFrame([row]), tables)
    assert not evidence.faults
    prior = tables.prior(region, month=animal["month"])
    p = posterior(evidence, tables.matrix, prior=prior)[0]
    flat = posterior(evidence, tables.matrix, prior=tables.prior(None))[0]
    return {
        "p": p,
        "name": honest_name(p, tables),
        "next": next_questions(evidence, tables, prior=prior, look=look),
        "prior_driven": is_prior_driven(p, flat, tables),
        "second": list(needs_second_person(p, tables, region=region)),
        "may_bite": BITES in cautions(p, tables, view=look.view),
    }


@pytest.mark.parametrize(("region", "seed", "n"), [(REGION, 11, N_ANIMALS), ("FL_peninsula", 12, 40), (None, 13, 40)])
def test_the_phone_and_the_package_agree_on_animals_looked_at_by_chance(browser, tmp_path, region, seed, n):
    tables = identify_tables()
    animals = random_animals(n, seed=seed)
    html = form_html(identification=identification_data(tables, region=region))
    with opened(browser, tmp_path / "form.html", html) as phone:
        answers = phone.page.evaluate(ASK, animals)
    assert len(answers) == n
    for animal, told in zip(animals, answers, strict=True):
        expected = by_python(animal, tables, region)
        np.testing.assert_allclose(told["p"], expected["p"], atol=1e-9, rtol=0)
        assert told["written"] == expected["name"].written
        assert told["name_p"] == pytest.approx(expected["name"].p, abs=1e-9)
        assert (told["compared"] or "") == expected["name"].compared_with
        assert [key for key, _, _ in told["next"]] == [question.character.key for question in expected["next"]]
        np.testing.assert_allclose([bits for _, bits, _ in told["next"]], [q.bits for q in expected["next"]], atol=1e-9)
        np.testing.assert_allclose(
            [change for _, _, change in told["next"]], [q.p_change for q in expected["next"]], atol=1e-9
        )
        assert told["prior_driven"] == expected["prior_driven"]
        assert told["second"] == expected["second"]
        assert told["may_bite"] == expected["may_bite"]


def test_the_animals_by_chance_hold_every_kind_of_look():
    animals = random_animals(N_ANIMALS, seed=11)
    answers = [text for animal in animals for text in animal["seen"].values()]
    assert {"not_seen", "looked_absent"} <= set(answers)
    assert any("|" in text for text in answers)
    assert {animal["lifeStage"] for animal in animals} == {None, "adult", "juvenile", "hatchling"}
    assert {animal["view"] for animal in animals} == {"in_hand", "from_above", "from_car", "carcass"}
    names = {by_python(animal, identify_tables(), REGION)["name"].rank for animal in animals}
    assert {"species", "subspecies", "order"} <= names


def test_a_blackened_slider_is_weighed_with_its_forms_on_the_phone_too(browser, tmp_path):
    seen = {"head_side": "plain_or_mottled", "carapace_pattern": "plain_dark"}
    animal = {"seen": seen, "view": "from_above", "skill": "trained", "lifeStage": "adult", "month": 5, "mm": None}
    with opened(browser, tmp_path / "form.html") as phone:
        told = phone.page.evaluate(ASK, [animal])[0]
    look, place = Look("from_above", "trained", "adult"), Place(REGION, 5)
    expected = identify_animal(seen, identify_tables(), look=look, place=place)
    ranked = dict(zip(identify_tables().taxa, told["p"], strict=True))
    for taxon, p, _ in expected.ranking:
        assert ranked[taxon] == pytest.approx(p, abs=1e-9)
    assert told["written"] == expected.name.written


def test_two_marks_of_one_group_count_for_less_than_two(browser, tmp_path):
    # By hand, the design effect with rho 0.25: two marks of likelihood ratio 8.5 weigh 0.8 each, 72.25 ** 0.8 = 30.695.
    with opened(browser, tmp_path / "form.html") as phone:
        weight = phone.page.evaluate(
            "(() => { const keys = ['plastron_pattern', 'plastron_colour'];"
            "const two = keys.map(key => ({character: CHARACTERS.get(key), states: [0], slip: 0}));"
            "const flat = TABLES.flat_prior;"
            "const one = evidence => formPosterior(evidence, flat);"
            "const ratio = evidence => { const p = one(evidence); return p[0] / TABLES.form_share[0] / flat[0]"
            " / (p.at(-1) / flat.at(-1)); };"
            "return [ratio(two), ratio([two[0]]), ratio([two[1]])]; })()"
        )
    both, first, second = weight
    assert both == pytest.approx((first * second) ** 0.8, rel=1e-9)


def test_every_name_that_can_be_chosen_is_read_back_as_itself():
    tables = identify_tables()
    names = [name["taxon"] for name in identification_data(tables, region=REGION)["names"]]
    assert len(names) > 40
    for name in names:
        assert tables.tree.taxonomy.read_name(name).taxon == name


@pytest.mark.parametrize(("length_mm", "state"), [(99, "lt100"), (100, "m100_149"), (229, "m150_229"), (320, "ge320")])
def test_a_measured_shell_answers_the_size(browser, tmp_path, length_mm, state):
    # The classes stand in their own names: under 100, 100-149, 150-229, 230-319, 320 and more.
    with opened(browser, tmp_path / "form.html") as phone:
        assert phone.page.evaluate(f"sizeState({length_mm})") == state
