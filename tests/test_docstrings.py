"""Every public function and class is documented, and every source that a docstring names exists."""

import ast
import re
from pathlib import Path

import pytest

from roadwatch.sources import all_sources

ROOT = Path(__file__).parents[1] / "roadwatch"
FILES = sorted(path for path in ROOT.rglob("*.py") if "cli" not in path.parts)


def documented(path):
    """Public functions and classes of a module, and public methods; what stands inside a function is its own affair."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    classes = [node for node in tree.body if isinstance(node, ast.ClassDef)]
    for holder in [tree, *classes]:
        for node in holder.body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
                yield node.name, ast.get_docstring(node)


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_public_names_are_documented(path):
    assert not [name for name, text in documented(path) if not text]


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_sources_named_in_docstrings_exist(path):
    keys = set()
    for _, text in documented(path):
        for block in re.findall(r"Source\n-+\n(.+?)(?:\n\n|$)", text or "", flags=re.DOTALL):
            keys |= set(re.findall(r"\b[a-z]+[a-z_]*\d{0,4}[a-z]?\b(?=\s*(?:,|$|\())", block, flags=re.MULTILINE)) & {
                word for word in re.split(r"[\s,()]+", block) if word
            }
    assert keys <= set(all_sources()), keys - set(all_sources())


def test_every_source_says_how_far_it_was_read():
    known = {"text", "abstract", "secondary", "standard", "memory", "computed", "convention"}
    assert {source.known_from for source in all_sources().values()} <= known
