"""Options that many commands share, declared once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

__all__ = [
    "GrainTolerance",
    "Home",
    "Json",
    "MaybeQuilt",
    "OutFile",
    "PaperName",
    "PictureFile",
    "QuiltName",
    "Seam",
    "Shrink",
    "Unit",
]

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

QuiltName = Annotated[str, typer.Argument(help="The name of the quilt.", show_default=False)]
MaybeQuilt = Annotated[
    str, typer.Argument(help="The name of a quilt; or give --template.", show_default=False)
]

PaperName = Annotated[str, typer.Option("--paper", help="letter or a4.")]
OutFile = Annotated[
    Optional[Path],  # noqa: UP045
    typer.Option("--out", help="Write into this PDF (default: a name of its own, here)."),
]

Seam = Annotated[str, typer.Option("--seam", help="Seam allowance.")]
GrainTolerance = Annotated[
    Optional[float],  # noqa: UP045
    typer.Option(
        "--grain-tolerance",
        help="How many degrees a piece may lie off the grain (default: any turn).",
    ),
]
Shrink = Annotated[
    float,
    typer.Option("--shrink", help="Per cent that unwashed cloth will shrink each way."),
]
