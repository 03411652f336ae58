"""Words to be typed stand apart from the sentence, so that a page never shows them."""

from __future__ import annotations

import ast
import inspect
import re
from pathlib import Path

import pytest

import stash.errors
from stash.cli.contents import WORDS
from stash.errors import StashError

SOURCE = Path(inspect.getfile(stash.errors)).parents[1]
_TYPED = re.compile(rf"\bstash (?:{'|'.join(WORDS)})\b|(?<![\w-])--[a-z]|`")
# What is read at the terminal alone: the face itself, what `verify` finds, papers for it, and the
# first words of a backup file.
_AT_TERMINAL = {
    "cli", "storage/upkeep.py", "storage/backup_file.py", "storage/exchange.py",
    "drawing/corner_sheet.py", "drawing/twin_sheet.py",
}  # fmt: skip


def _strings(tree: ast.AST) -> list[ast.Constant]:
    """Give the strings of a module but for docstrings and what is kept for the terminal."""
    apart: set[int] = set()
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list) and body and isinstance(body[0], ast.Expr):
            apart.update(id(part) for part in ast.walk(body[0]))
        if isinstance(node, ast.keyword) and node.arg == "at_terminal":
            apart.update(id(part) for part in ast.walk(node.value))
    found = [node for node in ast.walk(tree) if isinstance(node, ast.Constant)]
    return [one for one in found if isinstance(one.value, str) and id(one) not in apart]


def test_no_text_outside_the_command_line_asks_to_type_a_command() -> None:
    told = [
        f"{path.relative_to(SOURCE)}:{one.lineno}: {one.value}"
        for path in sorted(SOURCE.rglob("*.py"))
        if not any(str(path.relative_to(SOURCE)).startswith(part) for part in _AT_TERMINAL)
        for one in _strings(ast.parse(path.read_text(encoding="utf-8")))
        if _TYPED.search(one.value)
    ]
    assert told == []


def test_no_page_asks_to_type_a_command() -> None:
    told = {
        path.name: _TYPED.findall(text)
        for path in sorted((SOURCE / "web" / "pages").glob("*.html"))
        if _TYPED.search(text := path.read_text(encoding="utf-8"))
    }
    assert told == {}


def _kinds(kind: type[StashError]) -> list[type[StashError]]:
    return [kind, *(deep for sub in kind.__subclasses__() for deep in _kinds(sub))]


def _made(kind: type[StashError]) -> StashError:
    given = {"str": "it", "object": "here", "int": 3, "float": 1.5, "Path": Path("here.toml")}
    asked = list(inspect.signature(kind).parameters.values())
    values = {
        one.name: given.get(str(one.annotation).split(" |")[0], "it")
        for one in asked
        if one.default is one.empty and one.kind is not one.VAR_KEYWORD
    }
    plain = [
        values.pop(one.name)
        for one in asked
        if one.kind is one.POSITIONAL_OR_KEYWORD and one.name in values
    ]
    return kind(*plain, **values)


@pytest.mark.parametrize("kind", _kinds(StashError), ids=lambda kind: kind.__name__)
def test_every_problem_has_a_plain_sentence_without_words_to_type(kind: type[StashError]) -> None:
    problem = _made(kind)
    assert not _TYPED.search(problem.plain)
    assert str(problem).startswith(problem.plain)
