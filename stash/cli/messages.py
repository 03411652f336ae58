"""How a face speaks: JSON or a table on standard output, problems as one sentence."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import Any

import typer

__all__ = ["on_terminal", "print_json", "print_table", "progress", "say", "warn"]

_WRITER = json.JSONEncoder(ensure_ascii=False)
_LAYERS = 2  # of an answer's lists and records that are indented
_LONG = 500  # a list of more items is written on one line, which takes half the time


def print_json(answer: Any) -> None:
    """Write an answer for machines, an item of its lists to a line."""
    typer.echo(_json(answer, depth=0))


def _json(answer: Any, *, depth: int) -> str:
    """Indent the outer layers only: the encoder in C writes the inner ones ten times as fast."""
    if depth >= _LAYERS or not isinstance(answer, dict | list | tuple) or not answer:
        return _WRITER.encode(answer)
    if len(answer) > _LONG:
        return _WRITER.encode(answer)
    lines: list[str] = []
    if isinstance(answer, dict):
        for key, value in answer.items():
            name = _WRITER.encode({key: 0})[1:-4]  # as the encoder writes keys
            lines.append(f"{name}: {_json(value, depth=depth + 1)}")
        start, end = "{", "}"
    else:
        lines = [_json(value, depth=depth + 1) for value in answer]
        start, end = "[", "]"
    margin = "\n" + " " * depth
    return start + ",".join(f"{margin} {line}" for line in lines) + margin + end


def say(text: str = "") -> None:
    """Write a line of the answer."""
    typer.echo(text)


def warn(text: str) -> None:
    """Write a line beside the answer."""
    typer.echo(text, err=True)


def print_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Write rows under heads, columns as wide as they need."""
    widths = [max(len(line[column]) for line in [heads, *rows]) for column in range(len(heads))]
    lines = [
        "  ".join([cell.ljust(width) for cell, width in zip(line, widths, strict=True)]).rstrip()
        for line in [heads, *rows]
    ]
    typer.echo("\n".join(lines))


def on_terminal() -> bool:
    """Whether a person watches the progress."""
    return sys.stderr.isatty()


def progress(done: int, total: int, what: str) -> None:
    """Show how far the work is, where a person watches."""
    if on_terminal() and total > 1:
        end = "\n" if done == total else ""
        typer.echo(f"\r{done} of {total}: {what[-60:]:<60}{end}", err=True, nl=False)
