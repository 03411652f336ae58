"""Run the command line in this process: quicker than a process of its own for every question."""

from __future__ import annotations

import json
import os
import re
import shlex
from pathlib import Path
from typing import Any

import typer
from typer.testing import CliRunner

from stash.cli.app import make_app


class Commands:
    """The commands on one stash folder."""

    def __init__(self, home: Path) -> None:
        self._app: typer.Typer = make_app()
        self._around = {"STASH_HOME": str(home), "STASH_SETTINGS": os.devnull, "COLUMNS": "200"}

    def said(self, line: str) -> str:
        """Give what a command line prints; a problem fails the test with its words."""
        done = CliRunner().invoke(
            self._app, shlex.split(line), env=self._around, catch_exceptions=False
        )
        assert done.exit_code == 0, f"{line}: {done.output}"
        return done.stdout

    def problem(self, line: str) -> Exception:
        """Give the problem a command line ends with."""
        done = CliRunner().invoke(self._app, shlex.split(line), env=self._around)
        assert done.exception is not None, f"{line}: {done.output}"
        assert isinstance(done.exception, Exception)
        return done.exception

    def ends(self, line: str) -> int:
        """Give the exit code of a command line that ends without a problem of its own."""
        return CliRunner().invoke(self._app, shlex.split(line), env=self._around).exit_code

    def told(self, line: str) -> Any:
        """Give a command line's answer for programs."""
        return json.loads(self.said(f"{line} --json"))

    def rows(self, line: str) -> list[dict[str, str]]:
        """Give the first table a command line prints, each row by the heads of its columns."""
        return tables(self.said(line))[0]


def tables(text: str) -> list[list[dict[str, str]]]:
    """Read printed tables: columns stand under their heads; a blank line ends a table."""
    found: list[list[dict[str, str]]] = []
    starts: list[int] = []
    heads: list[str] = []
    for line in [*text.splitlines(), ""]:
        cells = [(hit.start(), hit.group()) for hit in re.finditer(r"\S+(?: \S+)*", line)]
        if not starts and len(cells) > 1 and re.search(r"\S {2,}\S", line):
            starts, heads = [at for at, _ in cells], [head for _, head in cells]
            found.append([])
        elif starts and re.search(r"\S {2,}\S", line):
            ends = [*starts[1:], len(line)]
            values = [line[a:b].strip() for a, b in zip(starts, ends, strict=True)]
            found[-1].append(dict(zip(heads, values, strict=True)))
        else:
            starts = []
    return found
