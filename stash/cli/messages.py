"""How a face speaks: JSON or a table on standard output, problems as one sentence."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Sequence
from typing import Any

import typer

from stash.drawing.line_breaks import broken

__all__ = ["on_terminal", "print_json", "print_table", "progress", "say", "warn"]

_WRITER = json.JSONEncoder(ensure_ascii=False)
_LAYERS = 2  # of an answer's lists and records that are indented
_LONG = 500  # a list of more items is written on one line, which takes half the time
_LEAST_ROOM = 24  # characters; in less, a column of single words is worse than a long line
_NO_EDGE = 1_000_000


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
    """Write rows under heads, columns as wide as they need.

    Where a person reads, words of the last column that pass the edge go on below its head; a
    program that reads gets every row on one line.
    """
    table = [heads, *rows]
    widths = [max(len(line[column]) for line in table) for column in range(len(heads))]
    indent = sum(widths[:-1]) + 2 * len(widths[:-1])
    room = _columns_to_read() - indent
    lines = []
    for *first, last in table:
        start = "".join(f"{cell:<{width}}  " for cell, width in zip(first, widths, strict=False))
        parts = broken(last, room, len) if room >= _LEAST_ROOM else [last]
        lines += [start + (parts[0] if parts else "")]
        lines += [" " * indent + part for part in parts[1:]]
    typer.echo("\n".join(line.rstrip() for line in lines))


def _columns_to_read() -> int:
    """Give the width of the window a person reads in; without one, more than any line has."""
    if sys.stdout.isatty() or "COLUMNS" in os.environ:
        return shutil.get_terminal_size().columns
    return _NO_EDGE


def on_terminal() -> bool:
    """Whether a person watches the progress."""
    return sys.stderr.isatty()


def progress(done: int, total: int, what: str) -> None:
    """Show how far the work is, where a person watches."""
    if on_terminal() and total > 1:
        end = "\n" if done == total else ""
        typer.echo(f"\r{done} of {total}: {what[-60:]:<60}{end}", err=True, nl=False)
