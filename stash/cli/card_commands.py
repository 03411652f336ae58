"""Cards: print, add, learn, list."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import Home, Json, Unit
from stash.units import CM_PER_INCH, parse_length
from stash.usecases.user_files import read_file, write_beside
from stash.wiring import open_store

if TYPE_CHECKING:
    from stash.photo.cards.card import Card

__all__ = ["register"]

CheckLine = Annotated[
    str, typer.Option("--line", help="What a ruler says of the printed card's 6-inch line.")
]
_SHEETS = {"a4": "sheet of A4", "letter": "sheet of letter paper", "bank-card": "bank card"}
_KINDS = {"chart24": "24-patch chart", "printed": "printed card", **_SHEETS}


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    group = typer.Typer(
        help="Reference cards. Print one, register one, measure a printed one, list them.",
        no_args_is_help=True,
    )
    group.command("print")(print_card)
    group.command("add")(add)
    group.command("learn")(learn)
    group.command("list")(list_cards)
    app.add_typer(group, name="card")


def print_card(
    file: Annotated[Path, typer.Argument(help="The PDF to write.")],
    paper: Annotated[str, typer.Option(help="Paper: letter or a4.")] = "letter",
    corners: Annotated[
        bool,
        typer.Option(
            "--corners",
            help="Loose corner markers for a big table instead: cut them out and lay them round "
            "it; the card still gives colour and inches.",
        ),
    ] = False,
    as_json: Json = False,
) -> None:
    """Write a reference card to print at home. A line on it checks the print's size."""
    from stash.drawing.card_sheet import PAPERS, card_sheet_pdf  # loads OpenCV

    if paper not in PAPERS:
        raise typer.BadParameter("choose letter or a4", param_hint="--paper")
    if corners:
        _print_corners(file, paper, as_json=as_json)
        return
    write_beside(file, card_sheet_pdf(paper))
    if as_json:
        print_json({"file": str(file), "paper": paper, "check_line_in": 6.0})
        return
    say(f"Wrote {file}. Print it at 100 % and check the 6-inch line with a ruler; then:")
    say("stash card add NAME --kind printed, and once: stash card learn NAME PHOTO")


def _print_corners(file: Path, paper: str, *, as_json: bool) -> None:
    from stash.drawing.corner_sheet import corner_sheet_pdf  # loads OpenCV

    write_beside(file, corner_sheet_pdf(paper))
    if as_json:
        print_json({"file": str(file), "paper": paper, "check_line_in": 6.0, "corners": True})
        return
    say(f"Wrote {file}. Print it at 100 % and check the 6-inch line with a ruler; then cut the")
    say("markers out and lay four or more flat round the scraps, the card among them.")


def add(
    name: Annotated[str, typer.Argument(help="Your name for the card.")],
    pitch: Annotated[
        Optional[str],
        typer.Option(
            help="Distance between the middles of neighbouring squares of a 24-patch chart, "
            "measured with a ruler.",
            show_default=False,
        ),
    ] = None,
    kind: Annotated[
        str,
        typer.Option(
            help="What it is: chart24 or printed; or, where no card is at hand, a4, letter or "
            "bank-card: inches and rough colours by such a thing among the scraps."
        ),
    ] = "chart24",
    values: Annotated[
        str,
        typer.Option(
            help="What a chart's squares are: average (of 30 charts measured), before-2014 or "
            "after-2014 (published for its two formulations), or a file with L*, a*, b* (D50) of "
            "one square a line.",
        ),
    ] = "average",
    line: CheckLine = "6",
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Register a reference card; photos are read with the newest one."""
    from stash.usecases.photos.manage_cards import (  # loads NumPy
        add_chart,
        add_printed,
        add_sheet,
    )

    if kind not in _KINDS:
        raise typer.BadParameter(f"choose one of {', '.join(_KINDS)}", param_hint="--kind")
    if kind == "chart24" and pitch is None:
        raise typer.BadParameter(
            "a 24-patch chart needs it: inches between the middles of neighbouring squares",
            param_hint="--pitch",
        )
    store = open_store(home)
    if kind in _SHEETS:
        card = add_sheet(store, name, kind)
    elif pitch is not None and kind == "chart24":
        card = add_chart(store, name, parse_length(pitch, unit=unit), values=_values(values))
    else:
        card = add_printed(store, name, check_line_in=parse_length(line))
    if as_json:
        print_json(_fields(card))
        return
    if kind in _SHEETS:
        say(
            f"Registered {card.name}: a {_KINDS[card.kind]}. Colours by it are rough, not absolute."
        )
        return
    say(f"Registered {card.name}: a {_KINDS[card.kind]}, {_pitch(card, unit)} between squares.")
    if not card.absolute:
        say("Its inks are not measured: colours agree with each other but may all be off together.")


def _values(told: str) -> str:
    from stash.photo.cards.chart_values import PUBLISHED  # loads NumPy

    if told in PUBLISHED:
        return told
    return read_file(Path(told)).decode("utf-8", errors="replace")


def learn(
    name: Annotated[str, typer.Argument(help="Your name for the card.")],
    photos: Annotated[
        list[Path], typer.Argument(help="Photos of it; of a chart several are averaged.")
    ],
    beside: Annotated[
        str,
        typer.Option(
            help="The registered card that lies beside a chart; without it the chart becomes the "
            "stash's own reference."
        ),
    ] = "",
    pitch: Annotated[
        Optional[str],
        typer.Option(
            help="A 24-patch chart is to be measured: inches between the middles of its squares.",
            show_default=False,
        ),
    ] = None,
    line: CheckLine = "6",
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Measure a card's colours. A printed one lies beside a chart; a chart may lie alone."""
    from stash.usecases.photos.manage_cards import learn_chart, learn_printed  # loads OpenCV

    store = open_store(home)
    if pitch is not None:
        card, error = learn_chart(
            store,
            name,
            [(photo.name, read_file(photo)) for photo in photos],
            pitch_in=parse_length(pitch, unit=unit),
            beside=beside,
        )
    elif len(photos) > 1 or beside:
        raise typer.BadParameter(
            "a chart needs its distance between squares; a printed card is measured from one "
            "photo beside any 24-patch chart",
            param_hint="--pitch",
        )
    else:
        card, error = learn_printed(
            store,
            name,
            read_file(photos[0]),
            file_name=photos[0].name,
            check_line_in=parse_length(line),
        )
    if as_json:
        print_json({**_fields(card), "error_de00": error})
    elif card.values == "own":
        say(f"Measured {card.name} by itself; it differs from the usual chart by {error:.1f}.")
        say("Colours read with it agree between photos; they are not absolute.")
    else:
        say(f"Measured {card.name}; the card beside it read true within {error:.1f} (CIEDE2000).")


def list_cards(unit: Unit = "in", home: Home = None, as_json: Json = False) -> None:
    """List the registered cards, the newest last."""
    from stash.usecases.photos.manage_cards import cards  # loads NumPy

    known = cards(open_store(home, must_exist=True))
    if as_json:
        print_json([_fields(card) for card in known])
    elif not known:
        say("No card is registered yet. See: stash card add --help, stash card print --help.")
    else:
        rows = [
            [
                card.name,
                _KINDS[card.kind],
                _pitch(card, unit),
                _colours(card),
            ]
            for card in known
        ]
        print_table(["Name", "Card", "Between squares", "Colours"], rows)


def _fields(card: Card) -> dict[str, object]:
    return {
        "name": card.name,
        "kind": card.kind,
        "pitch_in": card.pitch_in,
        "absolute": card.absolute,
        "values": card.values,
    }


def _colours(card: Card) -> str:
    if card.absolute:
        return "true"
    return f"{'rough' if card.kind in _SHEETS else 'consistent'}, not absolute"


def _pitch(card: Card, unit: str) -> str:
    if card.kind in _SHEETS:
        return "-"
    if unit == "cm":
        return f"{card.pitch_in * CM_PER_INCH:.2f} cm"
    return f"{card.pitch_in:.3f} in"
