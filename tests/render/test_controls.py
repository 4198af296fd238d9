import xml.etree.ElementTree as ET

import pytest

from roadwatch.render.choices import Choices, TaxonChoice, choices_of
from roadwatch.render.controls import controls


def read(choices, layers=None):
    """The controls as a tree; HTML's bare attributes and void elements are closed for the reader of XML."""
    text = str(controls(choices, layers or {"roads": "Roads", "nests": "Nests"}))
    for bare in ("open", "checked"):
        text = text.replace(f" {bare} ", f' {bare}="" ').replace(f" {bare}>", f' {bare}="">')
    head, *tail = text.split("<input")
    closed = [part.replace(">", "/>", 1) for part in tail]
    return ET.fromstring("<all>" + "<input".join([head, *closed]) + "</all>")


@pytest.fixture
def choices():
    taxa = (TaxonChoice("Emydidae", 0, ("a", "b")), TaxonChoice("a", 1, ("a",)))
    return Choices(("2024", "2025"), taxa, ((50, "unsure"), (80, "likely")), 91, 243)


def options(tree, key):
    select = tree.find(f".//select[@id='choose-{key}']")
    return {option.get("value"): option.text for option in select}


def test_every_list_begins_with_everything(choices):
    tree = read(choices)
    for key, words in (("year", "All years"), ("taxon", "All turtles"), ("sureness", "Any"), ("condition", "Any")):
        assert next(iter(options(tree, key).items())) == ("", words)


def test_taxa_stand_under_their_group(choices):
    assert options(read(choices), "taxon") == {"": "All turtles", "Emydidae": "Emydidae", "a": "\u2003a"}


def test_sureness_is_told_in_percent_and_in_its_word(choices):
    assert options(read(choices), "sureness")["80"] == "80 % or more (likely)"


def test_conditions_are_numbered_as_in_the_data(choices):
    assert options(read(choices), "condition") == {"": "Any", "0": "alive", "1": "injured", "2": "dead", "3": "unknown"}


def test_the_days_reach_over_the_season_and_say_their_name(choices):
    ends = {end.get("id"): end for end in read(choices).iter("input") if end.get("type") == "range"}
    assert {key: (end.get("min"), end.get("max"), end.get("value")) for key, end in ends.items()} == {
        "choose-from": ("91", "243", "91"),
        "choose-to": ("91", "243", "243"),
    }
    assert ends["choose-from"].get("aria-valuetext") == "31 March"  # day 91 of a leap year
    assert ends["choose-to"].get("aria-valuetext") == "30 August"


def test_every_control_has_a_label_of_its_own(choices):
    tree = read(choices)
    labels = {label.get("for") for label in tree.iter("label")}
    named = [one.get("id") for tag in ("select", "input") for one in tree.iter(tag) if one.get("id")]
    assert set(named) <= labels
    boxes = [label for label in tree.iter("label") if label.find("input[@type='checkbox']") is not None]
    assert ["".join(label.itertext()).strip() for label in boxes] == ["Nests", "Roads"]


def test_the_region_and_its_status_lines_are_named(choices):
    tree = read(choices)
    assert tree.find("section").get("aria-label") == "Filters and layers"
    assert [line.get("id") for line in tree.findall("p[@role='status']")] == ["shown", "answer"]


def test_names_of_strangers_are_escaped(season):
    content = season("team", text='"><img src=x>')
    text = str(controls(choices_of(content), {"saved_0": "<b>"}))
    assert "<img" not in text
    assert "<b>" not in text
