"""The guided conversation: plain words, number keys, back and stop at any time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.identified import print_identified, sureness
from roadwatch.identify.cautions import TRAFFIC
from roadwatch.identify.one_animal import Identification, Place, identify_animal
from roadwatch.identify.questions import Look

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from roadwatch.identify.characters import Character
    from roadwatch.identify.questions import Question
    from roadwatch.identify.tables import Tables

KEYS = "number, 0 = cannot see, two numbers = unsure between them, b = back, s = stop"
VIEWS = {"in_hand": "in my hand", "from_above": "from above", "from_car": "from a car", "carcass": "a carcass"}
STAGES = {"adult": "an adult", "juvenile": "a juvenile", "hatchling": "a hatchling"}


class Stopped(Exception):  # noqa: N818  # not an error: the person has seen enough
    """The person stops."""


class Conversation:
    """Asks about one animal until the answer would not change or the person stops."""

    def __init__(
        self,
        tables: Tables,
        place: Place,
        *,
        skill: str,
        threshold: float,
        ask: Callable[[str], str] | None = None,
    ) -> None:
        self.tables = tables
        self.place = place
        self.skill = skill
        self.threshold = threshold
        self.ask = ask or (lambda prompt: str(click.prompt(prompt, prompt_suffix=": ")))

    def run(self, view: str | None = None, life_stage: str | None = None) -> Identification:
        """Ask, show what each answer changed, and print the result."""
        click.echo(TRAFFIC)
        look = Look(None, self.skill)
        answers: list[tuple[str, str]] = []
        try:
            look = self._look(view, life_stage)
            self._questions(look, answers)
        except Stopped:
            click.echo("Stopped.")
        found = self._identify(look, answers)
        click.echo("")
        print_identified(found, self.tables)
        return found

    def _look(self, view: str | None, life_stage: str | None) -> Look:
        chosen = view.replace("-", "_") if view else self._choose("How do you see it?", VIEWS)
        stage = life_stage or self._choose("What is it?", STAGES, unknown=True)
        head = chosen == "carcass" and self._choose("Is the head still there?", {"y": "yes", "n": "no"}) == "y"
        return Look(chosen, self.skill, stage, head)  # type: ignore[arg-type]  # one of VIEWS

    def _choose(self, question: str, choices: dict[str, str], *, unknown: bool = False) -> str | None:
        click.echo(f"\n{question}")
        for number, words in enumerate(choices.values(), start=1):
            click.echo(f"  {number}  {words}")
        while True:
            answer = self.ask("number, s = stop" + (", 0 = do not know" if unknown else "")).strip().casefold()
            if answer == "s":
                raise Stopped
            if unknown and answer == "0":
                return None
            if answer.isdecimal() and 1 <= int(answer) <= len(choices):
                return list(choices)[int(answer) - 1]
            click.echo(f"'{answer}' is none of these; type a number from 1 to {len(choices)}")

    def _questions(self, look: Look, answers: list[tuple[str, str]]) -> None:
        while questions := self._open(look, answers):
            character = questions[0].character
            answer = self._answer(character)
            if answer is None:
                click.echo("Back to the question before." if answers else "This is the first question.")
                del answers[-1:]
                continue
            answers.append((character.key, answer))
            found = self._identify(look, answers)
            click.echo(f"-> {sureness(found)}")

    def _open(self, look: Look, answers: Sequence[tuple[str, str]]) -> list[Question]:
        """The questions not put yet; what could not be seen is not asked again."""
        asked = {key for key, _ in answers}
        found = self._identify(look, answers, skip=asked)
        return [question for question in found.questions if question.character.key not in asked]

    def _answer(self, character: Character) -> str | None:
        """The answer in the tables' words, None for back."""
        click.echo(f"\n{character.question}")
        if character.safety:
            click.echo(f"  ! {character.safety}")
        for number, state in enumerate(character.states, start=1):
            click.echo(f"  {number}  {state.words}")
        while True:
            written = self.ask(KEYS).strip().casefold()
            if written in {"b", "s"}:
                if written == "s":
                    raise Stopped
                return None
            numbers = written.replace(",", " ").replace("|", " ").split()
            if numbers == ["0"]:
                return "not_seen"
            if numbers and all(part.isdecimal() and 1 <= int(part) <= len(character.states) for part in numbers):
                return "|".join(character.states[int(part) - 1].key for part in numbers)
            click.echo(f"'{written}' is none of these; type numbers from 1 to {len(character.states)}, 0, b or s")

    def _identify(
        self, look: Look, answers: Sequence[tuple[str, str]], *, skip: frozenset[str] | set[str] = frozenset()
    ) -> Identification:
        return identify_animal(
            dict(answers), self.tables, look=look, place=self.place, threshold=self.threshold, skip=skip
        )
