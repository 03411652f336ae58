"""Where a printed sheet goes, and on which paper."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from stash.usecases.user_files import write_beside

if TYPE_CHECKING:
    from stash.drawing.paper import Paper

__all__ = ["paper_of", "write_sheet"]


def paper_of(name: str) -> Paper:
    """Give the paper of this name; raises PlanError if it is not sold."""
    from stash.drawing.paper import paper_named  # loads the PDF library

    return paper_named(name)


def write_sheet(out: Path | None, name: str, paper: str, data: bytes) -> Path:
    """Write a sheet to ``out``, or here under a plain form of its name; give where it went."""
    plain = re.sub(r"[^\w.-]+", "-", name.strip()).strip("-").lower() or "sheet"
    file = out if out is not None else Path(f"{plain}-{paper.strip().lower()}.pdf")
    write_beside(file, data)
    return file
