"""Options that many commands share, declared once."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated, Optional

import typer

__all__ = [
    "UNITS",
    "GrainTolerance",
    "GreyValues",
    "Home",
    "Json",
    "MaybeQuilt",
    "Order",
    "OutFile",
    "PaperName",
    "PictureFile",
    "QuiltName",
    "Seam",
    "Shrink",
    "SortBy",
    "Unit",
    "ask_for_picture",
    "unit_word",
]

Home = Annotated[
    Optional[Path],
    typer.Option(
        "--home",
        envvar="STASH_HOME",
        metavar="FOLDER",
        help="The stash folder (default: the data folder of this computer's user).",
        show_default=False,
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Answer as JSON, for programs.")]
PictureFile = Annotated[
    Optional[Path],
    typer.Option("--picture", help="Also draw the answer into this file.", show_default=False),
]
GreyValues = Annotated[
    bool,
    typer.Option(
        "--values", help="Draw the picture in grey, each cloth as light as it is, to see values."
    ),
]


UNITS = ("in", "cm")


def unit_word(text: str) -> str:
    """Take a word for a unit, or refuse it."""
    if text not in UNITS:
        raise typer.BadParameter(f"“{text}” is not one of {', '.join(UNITS)}")
    return text


Unit = Annotated[
    str,
    typer.Option(
        "--unit", parser=unit_word, metavar="in|cm", help="Show and read lengths in: in, cm."
    ),
]

QuiltName = Annotated[str, typer.Argument(help="The name of the quilt.", show_default=False)]
MaybeQuilt = Annotated[
    str, typer.Argument(help="The name of a quilt; or give --template.", show_default=False)
]

PaperName = Annotated[str, typer.Option("--paper", help="letter or a4.")]
OutFile = Annotated[
    Optional[Path],
    typer.Option("--out", help="Write into this PDF (default: a name of its own, here)."),
]

Seam = Annotated[str, typer.Option("--seam", help="Seam allowance.")]
GrainTolerance = Annotated[
    Optional[float],
    typer.Option(
        "--grain-tolerance",
        help="How many degrees a piece may lie off the grain (default: any turn).",
    ),
]
Shrink = Annotated[
    float,
    typer.Option("--shrink", help="Per cent that unwashed cloth will shrink each way."),
]


class Order(StrEnum):
    """Orders in which cloth is looked at."""

    FAMILY = "family"
    VALUE = "value"
    LIGHT_TO_DARK = "light-to-dark"


SortBy = Annotated[
    Optional[Order],
    typer.Option(
        "--sort-by",
        help="Order of the list and the picture: family, value (light, medium, dark) or "
        "light-to-dark (default: the list by number, the picture by family).",
        show_default=False,
    ),
]


def ask_for_picture(picture: Path | None, *, values: bool) -> None:
    """Refuse grey values where no picture is drawn that could show them."""
    if values and picture is None:
        raise typer.BadParameter("--values is for a picture; name its file with --picture FILE")
