"""What README shows is what the program prints."""

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from roadwatch.cli import main

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")


def sessions() -> list[tuple[str, list[str]]]:
    """Each command in a console block with the output shown under it."""
    found = []
    for block in re.findall(r"```console\n(.*?)```", README, flags=re.DOTALL):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, *shown = part.rstrip("\n").split("\n")
            found.append((command, shown))
    return found


@pytest.fixture(scope="module")
def checkout(tmp_path_factory):
    """A folder that looks like a clone in which the demo has been run."""
    folder = tmp_path_factory.mktemp("clone")
    for name in ("demo", "layers"):
        (folder / name).symlink_to(ROOT / name)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        assert CliRunner().invoke(main, ["demo"]).exit_code == 0
        yield folder


def shown_in_order(shown: list[str], printed: str) -> bool:
    """``...`` stands for any lines, ``    ...`` for one line, and any other line for itself."""
    pattern = "".join(
        r"(?:.*\n)*?" if line == "..." else r"\s+.*\n" if line.strip() == "..." else re.escape(line) + r"\s*\n"
        for line in shown
    )
    return re.fullmatch(pattern, printed) is not None


def test_output_that_differs_would_be_noticed():
    assert shown_in_order(["a", "...", "d"], "a\nb\nc\nd\n")
    assert not shown_in_order(["a", "d"], "a\nb\nd\n")
    assert not shown_in_order(["a", "...", "e"], "a\nb\nd\n")


@pytest.mark.parametrize(("command", "shown"), sessions(), ids=[command[:60] for command, _ in sessions()])
def test_a_command_prints_what_the_readme_shows(checkout, command, shown):
    program, *args = shlex.split(command)
    assert program == "roadwatch"
    result = CliRunner().invoke(main, args)
    assert result.exit_code in {0, 3}, result.output
    assert shown_in_order(shown, result.output), result.output


def test_the_readme_opens_with_the_job_in_one_paragraph_and_is_short():
    lines = README.splitlines()
    assert lines[0].startswith("# ")
    assert len(lines[2]) > 200
    assert lines[3] == ""
    assert len(lines) <= 200


def test_both_set_up_commands_work_first():
    commands = re.findall(r"^python3 -m venv .*$", README, flags=re.MULTILINE)
    assert len(commands) == 2
    assert commands[0].endswith("roadwatch demo")
    assert "'.[test]'" in commands[1]
    assert "pytest" in commands[1]


def test_pictures_and_links_exist():
    for target in re.findall(r"\]\(([\w./]+)\)", README):
        assert (ROOT / target).exists(), target
