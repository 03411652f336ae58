"""Run the commands shown in the pages; `python -m tests.docs_pages` puts their real output in.

It draws the pages' pictures anew as well, from what the commands wrote.

In a page, a block fenced as ``console`` holds commands (lines that begin with ``$ stash``), each
followed by its output. All pages run in one folder, the README first.
"""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from tests.running import REPO, run_stash

PAGES = (REPO / "README.md", REPO / "docs" / "tour.md")
_BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)
_MOST_LINES = 16
_WIDTH = 100  # columns
# Picture of a page: what a command wrote, width in pixels, most height (the top is kept).
_PICTURES = {
    "logged.jpg": ("tidewater/logged-teal-drawer.jpg", 1200, 1200),
    "match.jpg": ("match.jpg", 1200, 1050),
    "quilt.jpg": ("raffle.png", 1000, 1000),
}


@dataclass(frozen=True)
class Shown:
    """A command as a page shows it, and the lines of its answer that are shown."""

    page: str
    line: str
    answer: tuple[str, ...] = ()


def shown_commands() -> Iterator[Shown]:
    """Give the commands of all pages in the order they are to run."""
    for page in PAGES:
        for block in _BLOCK.findall(page.read_text(encoding="utf-8")):
            for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
                line, *answer = part.splitlines()
                answer = [one for one in answer if one.strip() and one != "..."]
                yield Shown(page.name, line, tuple(answer))


def run(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run one shown command in a folder."""
    words = shlex.split(line)
    assert words[0] == "stash", f"only stash is run from the pages, not {line!r}"
    wide = {"COLUMNS": str(_WIDTH)}
    done: subprocess.CompletedProcess[str] = run_stash(*words[1:], cwd=folder, environment=wide)
    return done


def refresh(folder: Path) -> None:
    """Put the real output under every shown command."""
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        page.write_text(_BLOCK.sub(lambda found: _with_output(found, folder), text), "utf-8")


def redraw(folder: Path) -> None:
    """Make the pages' pictures of what the commands wrote."""
    for name, (written, wide, high) in _PICTURES.items():
        picture = Image.open(folder / written).convert("RGB")
        size = (wide, round(picture.height * wide / picture.width))
        small = picture.resize(size, Image.Resampling.LANCZOS).crop(
            (0, 0, wide, min(high, size[1]))
        )
        small.save(REPO / "docs" / "pictures" / name, quality=88)


def _with_output(found: re.Match[str], folder: Path) -> str:
    lines = []
    for line in found.group(1).splitlines():
        if line.startswith("$ "):
            done = run(line[2:], folder)
            output = done.stdout.rstrip().splitlines()
            if len(output) > _MOST_LINES:
                output = [*output[: _MOST_LINES - 1], "..."]
            lines += [line, *output]
    return "```console\n" + "\n".join(lines) + "\n```"


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(place)
        refresh(folder)
        redraw(folder)
