"""The choices above the map: native controls that work by keyboard, folded away on a phone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.render.choices import day_words
from roadwatch.render.legend import CONDITIONS
from roadwatch.render.safe_text import fill, joined

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from markupsafe import Markup

    from roadwatch.render.choices import Choices

ALL_TURTLES = "All turtles"
INDENT = "\u2003"

_SELECT = '<label for="choose-{key}">{words}<select id="choose-{key}" autocomplete="off">{options}</select></label>'
_RANGE = (
    '<label for="choose-{key}"><span class="end">{words} <output for="choose-{key}" id="{key}-words">{day}</output>'
    '</span><input type="range" id="choose-{key}" autocomplete="off" min="{first}" max="{last}" step="1" '
    'value="{value}" aria-valuetext="{day}"></label>'
)
_REGION = (
    '<section class="controls screen" aria-label="Filters and layers"><details open><summary>Filters and layers'
    "</summary>"
    '<fieldset class="filters"><legend>Show only</legend>{filters}'
    '<div class="span" role="group" aria-labelledby="span-words"><p id="span-words">Days of the season, in any year'
    "</p>{days}</div>"
    '<button type="button" id="choose-reset">Show everything</button></fieldset>'
    '<fieldset class="layers"><legend>Layers</legend>{layers}</fieldset></details></section>'
    '<p id="shown" role="status"></p><p id="answer" role="status"></p>'
)


def controls(choices: Choices, layers: Mapping[str, str]) -> Markup:
    """
    Filters and the switch of layers.

    Parameters
    ----------
    choices
        What can be chosen.
    layers
        What each layer is called, by its key, from the bottom to the top.

    Returns
    -------
    A labelled region, and the lines that say what is shown.
    """
    return fill(
        _REGION,
        filters=joined(
            [
                _select("year", "Year", [("", "All years"), *((year, year) for year in choices.years)]),
                _select("taxon", "Taxon and what it includes", _taxa(choices)),
                _select("sureness", "Sureness of the name", _sureness(choices)),
                _select("condition", "Condition of the crossing", _conditions()),
            ]
        ),
        days=joined(
            [
                _range("from", "From", choices.first_day, choices),
                _range("to", "To", choices.last_day, choices),
            ]
        ),
        layers=joined(
            fill(
                '<label><input type="checkbox" autocomplete="off" checked data-layer="{key}"> '
                "<span>{words}</span></label>",
                key=key,
                words=words,
            )
            for key, words in reversed(list(layers.items()))
        ),
    )


def _select(key: str, words: str, options: Iterable[tuple[str, str]]) -> Markup:
    rows = joined(fill('<option value="{value}">{text}</option>', value=value, text=text) for value, text in options)
    return fill(_SELECT, key=key, words=words, options=rows)


def _range(key: str, words: str, value: int, choices: Choices) -> Markup:
    return fill(
        _RANGE,
        key=key,
        words=words,
        first=choices.first_day,
        last=choices.last_day,
        value=value,
        day=day_words(value),
    )


def _taxa(choices: Choices) -> list[tuple[str, str]]:
    return [("", ALL_TURTLES), *((taxon.name, INDENT * taxon.depth + taxon.name) for taxon in choices.taxa)]


def _sureness(choices: Choices) -> list[tuple[str, str]]:
    return [("", "Any"), *((str(percent), f"{percent} % or more ({word})") for percent, word in choices.sureness)]


def _conditions() -> list[tuple[str, str]]:
    """Values are the places of the signs, which the data holds as well."""
    return [("", "Any"), *((str(place), sign.key) for place, sign in enumerate(CONDITIONS))]
