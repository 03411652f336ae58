"""How a face speaks: JSON or a table on standard output, problems as one sentence."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Mapping, Sequence
from typing import Any

import typer

from stash.cli.plain_text import spelled_out
from stash.drawing.line_breaks import broken
from stash.usecases.user_files import plain_name

__all__ = ["on_terminal", "print_csv", "print_json", "print_table", "say", "warn"]

_WRITERS = {plain: json.JSONEncoder(ensure_ascii=plain) for plain in (False, True)}
_LAYERS = 2  # of an answer's lists and records that are indented
_LONG = 500  # a list of more items is written on one line, which takes half the time
_LEAST_ROOM = 24  # characters; in less, a column of single words is worse than a long line
_NO_EDGE = 1_000_000


def print_json(answer: Any) -> None:
    """Write an answer for machines, an item of its lists to a line."""
    # JSON has an escape for every letter: where the stream lacks one nothing need be lost.
    every_letter = (sys.stdout.encoding or "").lower().replace("_", "-").startswith("utf-")
    typer.echo(_json(answer, _WRITERS[not every_letter], depth=0))


def _json(answer: Any, writer: json.JSONEncoder, *, depth: int) -> str:
    """Indent the outer layers only: the encoder in C writes the inner ones ten times as fast."""
    if depth >= _LAYERS or not isinstance(answer, dict | list | tuple) or not answer:
        return writer.encode(answer)
    if len(answer) > _LONG:
        return writer.encode(answer)
    lines: list[str] = []
    if isinstance(answer, dict):
        for key, value in answer.items():
            name = writer.encode({key: 0})[1:-4]  # as the encoder writes keys
            lines.append(f"{name}: {_json(value, writer, depth=depth + 1)}")
        start, end = "{", "}"
    else:
        lines = [_json(value, writer, depth=depth + 1) for value in answer]
        start, end = "[", "]"
    margin = "\n" + " " * depth
    return start + ",".join(f"{margin} {line}" for line in lines) + margin + end


def print_csv(records: Sequence[Mapping[str, Any]]) -> None:
    """Write records as a table for a spreadsheet: what is one value each, in inches and CIELAB.

    Lists of points and colours have no place in a table; the JSON holds them.
    """
    import csv  # rarely asked for

    plain = [_one_value_each(record) for record in records]
    writer = csv.DictWriter(sys.stdout, list(plain[0]) if plain else [], lineterminator="\n")
    writer.writeheader()
    writer.writerows(plain)


def _one_value_each(record: Mapping[str, Any]) -> dict[str, Any]:
    row: dict[str, Any] = {}
    for name, value in record.items():
        if not isinstance(value, list | tuple):
            row[name] = round(value, 4) if isinstance(value, float) else _no_formula(value)
        elif name.startswith("size") or name.startswith("largest_size"):
            row |= {f"{name}_short": round(value[0], 4), f"{name}_long": round(value[1], 4)}
        elif name == "reads_as_lab":
            row |= {
                axis: round(one, 2) for axis, one in zip(("L*", "a*", "b*"), value, strict=True)
            }
    return row


def _no_formula(value: Any) -> Any:
    """Keep a spreadsheet from taking typed text for a formula."""
    typed = isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r"))
    return f"'{value}" if typed else value


def say(text: str = "") -> None:
    """Write a line of the answer; names in it never move the cursor."""
    typer.echo(_harmless(text))


def warn(text: str) -> None:
    """Write a line beside the answer."""
    typer.echo(_harmless(text), err=True)


def _harmless(text: str) -> str:
    return "\n".join(plain_name(line) for line in text.split("\n"))


def print_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Write rows under heads, columns as wide as they need.

    Where a person reads, words of the last column that pass the edge go on below its head; a
    program that reads gets every row on one line. Every column has a head.
    """
    if not all(heads):
        raise ValueError(f"a column without a head: {list(heads)}")
    table = [[_shown(plain_name(cell)) for cell in line] for line in (heads, *rows)]
    widths = [max(_columns(line[column]) for line in table) for column in range(len(heads))]
    indent = sum(widths[:-1]) + 2 * len(widths[:-1])
    room = _columns_to_read() - indent
    lines = []
    for *first, last in table:
        start = "".join(
            cell + " " * (width - _columns(cell) + 2)
            for cell, width in zip(first, widths, strict=False)
        )
        parts = broken(last, room, _columns) if room >= _LEAST_ROOM else [last]
        lines += [start + (parts[0] if parts else "")]
        lines += [" " * indent + part for part in parts[1:]]
    typer.echo("\n".join(line.rstrip() for line in lines))


def _shown(text: str) -> str:
    """Give a text as the screen will show it, so that columns stand straight."""
    return text if text.isascii() else spelled_out(text, sys.stdout.encoding or "utf-8")


def _columns(text: str) -> int:
    """Count the places that a text takes on a screen: letters of Asia and pictures take two."""
    if text.isascii():
        return len(text)
    from rich.cells import cell_len  # only where a letter may be wide

    return cell_len(text)


def _columns_to_read() -> int:
    """Give the width of the window a person reads in; without one, more than any line has."""
    if sys.stdout.isatty() or "COLUMNS" in os.environ:
        return shutil.get_terminal_size().columns
    return _NO_EDGE


def on_terminal() -> bool:
    """Whether a person watches the progress."""
    return sys.stderr.isatty()
