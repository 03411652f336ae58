"""Options that many commands share, declared once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

__all__ = ["Home", "Json", "PictureFile", "Unit"]

Home = Annotated[
    Optional[Path],  # noqa: UP045 - typer reads it at run time
    typer.Option(
        "--home",
        envvar="STASH_HOME",
        help="The stash folder (default: the data folder of this computer's user).",
        show_default=False,
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Answer as JSON, for programs.")]
PictureFile = Annotated[
    Optional[Path],  # noqa: UP045
    typer.Option("--picture", help="Also draw the answer into this file.", show_default=False),
]
Unit = Annotated[str, typer.Option("--unit", help="Show and read lengths in: in, cm.")]
