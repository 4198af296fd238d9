"""The form's words: whole in both languages, one row a text, none of them about something that is not there."""

import csv
import re
from importlib.resources import files

import pytest

from roadwatch.errors import RoadwatchError
from roadwatch.identify.tables import identify_tables
from roadwatch.records.fields import fields_of
from roadwatch.render import form_words as words_module
from roadwatch.render.form import FORM_KINDS, SCRIPTS
from roadwatch.render.form_words import form_words
from roadwatch.render.vendored import own_text

FROM_TABLES = ("question/", "state/", "safety/", "mistaken/")


def rows():
    return list(csv.DictReader((files("roadwatch") / "data" / "form_words.csv").read_text("utf-8").splitlines()))


def test_every_text_stands_in_every_language():
    for row in rows():
        assert row["es"].strip(), row["key"]
        assert bool(row["en"].strip()) != row["key"].startswith(FROM_TABLES), row["key"]


def test_both_languages_have_the_same_places_to_fill():
    def places(text):
        return sorted(re.findall(r"\{(\w+)\}", text))

    for row in rows():
        if row["en"]:
            assert places(row["en"]) == places(row["es"]), row["key"]


def test_every_character_and_state_is_translated_and_no_other():
    characters = identify_tables().characters
    expected = {f"question/{key}" for key in characters}
    expected |= {f"state/{key}/{state.key}" for key, character in characters.items() for state in character.states}
    expected |= {f"safety/{key}" for key, character in characters.items() if character.safety}
    expected |= {f"mistaken/{key}" for key, character in characters.items() if character.mistaken_for}
    assert {key for key in form_words()["es"] if key.startswith(FROM_TABLES)} == expected


def test_every_word_of_a_choice_that_is_asked_for_is_translated():
    asked = set(re.findall(r'optionsOf\("\w+", "(\w+)"', "".join(own_text(name) for name in SCRIPTS)))
    assert len(asked) >= 8
    for kind in FORM_KINDS:
        for name, field in fields_of(kind).items():
            if name in asked:
                for value in field.choices:
                    assert f"choice/{name}/{value}" in form_words()["en"]


def test_every_text_that_the_code_names_stands_in_the_table():
    code = "".join(own_text(name) for name in SCRIPTS)
    named = set(re.findall(r'(?:say|part|more|button|confirmed|refuse)\("([a-z_/0-9]+)"', code))
    named |= {f"{key}_sure" for key in re.findall(r'confirmed\("([a-z_]+)"', code)}
    named |= {f"field/{name}" for name in re.findall(r'Field\(\w+, "([a-z_]+)"', code)}
    labelled = {"field/day", "field/who"}  # these two carry labels of their own
    assert len(named) > 100
    assert named - labelled <= set(form_words()["en"])


def test_the_table_says_that_the_spanish_needs_a_native_reader():
    assert any("native reader" in row["remark"] for row in rows())


def test_a_key_that_stands_twice_is_refused(monkeypatch, tmp_path):
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "form_words.csv").write_text("key,en,es,remark\na,1,2,\na,3,4,\n", encoding="utf-8")
    monkeypatch.setattr(words_module, "files", lambda _: tmp_path)
    form_words.cache_clear()
    with pytest.raises(RoadwatchError, match=r"form_words\.csv: 'a' stands twice"):
        form_words()
    form_words.cache_clear()
