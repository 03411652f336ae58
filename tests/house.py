"""Figures of the house: `python -m tests.house` prints lines, functions, ratios and contracts.

A line of code is one that is neither blank nor a comment; docstrings count, as a reader reads them.
"""

from __future__ import annotations

import ast
import shutil
import statistics
import subprocess
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

REPO = Path(__file__).resolve().parents[1]
_LONG_MODULE, _LONG_FUNCTION, _FULL_FOLDER = 350, 60, 26


@dataclass(frozen=True)
class Module:
    """One file: its lines of code, its functions with their lengths, and what it lacks."""

    path: Path
    lines: int
    comments: int
    lengths: tuple[int, ...]
    long: tuple[str, ...]
    bare: tuple[str, ...]

    @classmethod
    def read(cls, path: Path) -> Module:
        """Read one file."""
        text = path.read_text(encoding="utf-8")
        lines = [line.strip() for line in text.splitlines() if line.strip()]
        functions = list(_functions(ast.parse(text)))
        lengths = [one.end_lineno - one.lineno + 1 for one in functions if one.end_lineno]
        named = list(zip(functions, lengths, strict=True))
        return cls(
            path.relative_to(REPO),
            sum(not line.startswith("#") for line in lines),
            sum("  # " in line or line.startswith("# ") for line in lines),
            tuple(lengths),
            tuple(f"{one.name} ({n})" for one, n in named if n > _LONG_FUNCTION),
            tuple(one.name for one in functions if _wants_docstring(one)),
        )


def _functions(tree: ast.AST) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def _wants_docstring(one: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    return not one.name.startswith("_") and ast.get_docstring(one) is None


def modules(folder: str) -> list[Module]:
    """Read every module below a folder of the project."""
    return [Module.read(path) for path in sorted((REPO / folder).rglob("*.py"))]


def _lines_below(files: list[Module], folder: Path) -> int:
    """Count the lines of a folder with all that lies in it; those of the top folder by itself."""
    deep = len(folder.parts) > 1
    return sum(
        one.lines
        for one in files
        if one.path.parent == folder or (deep and one.path.is_relative_to(folder))
    )


def tables(code: list[Module], tests: list[Module]) -> Iterator[str]:
    """Give the figures, a line each."""
    yield "folder                      files  lines  lines of its tests  tests : code"
    for folder in sorted({one.path.parent for one in code}):
        mine = [one for one in code if one.path.parent == folder]
        lines = sum(one.lines for one in mine)
        of_tests = _lines_below(tests, Path("tests", *folder.parts[1:]))
        full = "  full" if len(mine) > _FULL_FOLDER else ""
        share = f"{of_tests / max(1, _lines_below(code, folder)):.2f}" if of_tests else ""
        yield f"{folder!s:28}{len(mine):5}{lines:7}{of_tests:20}{share:>14}{full}"
    whole, proof = sum(one.lines for one in code), sum(one.lines for one in tests)
    comments = sum(one.comments for one in code)
    lengths = sorted(length for one in code for length in one.lengths)
    yield ""
    yield f"in all: {len(code)} files, {whole} lines"
    yield f"tests: {proof} lines, tests : code {proof / whole:.2f}"
    yield f"comments: {comments / whole:.3f} of the lines"
    yield (
        f"functions: {len(lengths)}, median {statistics.median(lengths):.0f} lines, "
        f"nine of ten up to {lengths[9 * len(lengths) // 10]}, longest {lengths[-1]}"
    )
    ignored = sum((REPO / one.path).read_text(encoding="utf-8").count("# noqa") for one in code)
    yield f"passed over by hand (noqa): {ignored}"


def places(code: list[Module]) -> Iterator[str]:
    """Give places worth a look, a line each."""
    for one in code:
        if one.lines > _LONG_MODULE:
            yield f"long module: {one.path} ({one.lines})"
        for function in one.long:
            yield f"long function: {one.path} {function}"
        if one.bare and "cli" not in one.path.parts:
            yield f"public without a docstring: {one.path}: {', '.join(one.bare)}"


def contracts() -> Iterator[str]:
    """Give the contracts of imports, and whether they are kept."""
    settings = tomllib.loads((REPO / "pyproject.toml").read_text(encoding="utf-8"))
    for one in settings["tool"]["importlinter"]["contracts"]:
        yield f"contract: {one['name']}"
    command = shutil.which("lint-imports")
    if command is None:
        yield "not looked at: lint-imports is not installed"
        return
    done = subprocess.run([command], cwd=REPO, capture_output=True, text=True, check=False)
    yield "all kept" if done.returncode == 0 else done.stdout


def main() -> None:
    """Print all of it."""
    code, tests = modules("stash"), modules("tests")
    for line in (*tables(code, tests), "", *places(code), "", *contracts()):
        print(line)


if __name__ == "__main__":
    main()
