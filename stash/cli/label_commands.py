"""Labels for bins, and the way back from a label to its bin."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from stash.cli.messages import print_json, say
from stash.cli.options import Home, Json, OutFile, PaperName, Unit
from stash.cli.sheet_files import paper_of, write_sheet

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("labels")(labels)


def labels(
    bins: Annotated[
        Optional[list[str]],
        typer.Argument(help="Bins to label (default: all that hold scraps)."),
    ] = None,
    find: Annotated[
        str, typer.Option("--find", help="The code of a label: say what its bin holds.")
    ] = "",
    paper: PaperName = "letter",
    out: OutFile = None,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Print labels for bins. They bear families, sizes and a code that finds the bin again."""
    from stash.cli.sheet_answers import label_record, say_scraps, scrap_record
    from stash.usecases.papers.print_sheets import (  # loads the PDF library
        bin_labels,
        find_by_code,
        label_sheet,
    )
    from stash.wiring import open_store
    from stash.wording import counted

    store = open_store(home)
    if find:
        scraps = find_by_code(store, find)
        if as_json:
            print_json({"bin": scraps[0].place, "scraps": [scrap_record(one) for one in scraps]})
        else:
            say_scraps(scraps, unit=unit)
        return
    made = bin_labels(store, bins or [], unit=unit)
    if not made:
        say("No scrap has a bin yet. Log scraps with: stash log PHOTO --bin NAME")
        return
    file = write_sheet(out, "bin-labels", paper, label_sheet(made, paper_of(paper)))
    if as_json:
        print_json({"file": str(file), "labels": [label_record(one) for one in made]})
        return
    for one in made:
        held = f"{counted(one.scraps, 'scrap')} of {counted(one.fabrics, 'fabric')}"
        say(f"{one.place}: {held} ({'; '.join(one.lines)})")
    say(f"Labels: {file}")
