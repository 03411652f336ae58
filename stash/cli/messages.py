"""How a face speaks: JSON or a table on standard output, problems as one sentence."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import Any

import typer

__all__ = ["on_terminal", "print_json", "print_table", "progress", "say", "warn"]


def print_json(answer: Any) -> None:
    """Write an answer for machines."""
    typer.echo(json.dumps(answer, ensure_ascii=False, indent=1))


def say(text: str = "") -> None:
    """Write a line of the answer."""
    typer.echo(text)


def warn(text: str) -> None:
    """Write a line beside the answer."""
    typer.echo(text, err=True)


def print_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Write rows under heads, columns as wide as they need."""
    widths = [max(len(line[column]) for line in [heads, *rows]) for column in range(len(heads))]
    for line in [heads, *rows]:
        cells = [cell.ljust(width) for cell, width in zip(line, widths, strict=True)]
        typer.echo("  ".join(cells).rstrip())


def on_terminal() -> bool:
    """Whether a person watches the progress."""
    return sys.stderr.isatty()


def progress(done: int, total: int, what: str) -> None:
    """Show how far the work is, where a person watches."""
    if on_terminal() and total > 1:
        end = "\n" if done == total else ""
        typer.echo(f"\r{done} of {total}: {what[-60:]:<60}{end}", err=True, nl=False)
