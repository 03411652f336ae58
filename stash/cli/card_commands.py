"""Cards: print, add, learn, list."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import Home, Json, Unit
from stash.units import CM_PER_INCH, parse_length
from stash.wiring import open_store

if TYPE_CHECKING:
    from stash.photo.card import Card

__all__ = ["register"]

_KINDS = {"chart24": "24-patch chart", "printed": "printed card"}


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    group = typer.Typer(
        help="Reference cards: print one, register one, measure a printed one, list them.",
        no_args_is_help=True,
    )
    group.command("add")(add)
    group.command("list")(list_cards)
    app.add_typer(group, name="card")


def add(
    name: Annotated[str, typer.Argument(help="Your name for the card.")],
    pitch: Annotated[
        str,
        typer.Option(
            help="Distance between the middles of neighbouring squares, measured with a ruler."
        ),
    ],
    kind: Annotated[str, typer.Option(help="What it is: chart24.")] = "chart24",
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Register a reference card; photos are read with the newest one."""
    from stash.usecases.manage_cards import add_chart  # noqa: PLC0415 - loads NumPy

    if kind != "chart24":
        raise typer.BadParameter(
            "only chart24 is added by its size; for the printed card use: stash card learn",
            param_hint="--kind",
        )
    card = add_chart(open_store(home), name, parse_length(pitch, unit=unit))
    if as_json:
        print_json(_fields(card))
    else:
        say(f"Registered {card.name}: a {_KINDS[card.kind]}, {_pitch(card, unit)} between squares.")


def list_cards(unit: Unit = "in", home: Home = None, as_json: Json = False) -> None:
    """List the registered cards, the newest last."""
    from stash.usecases.manage_cards import cards  # noqa: PLC0415 - loads NumPy

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
                "true" if card.absolute else "consistent, not absolute",
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
    }


def _pitch(card: Card, unit: str) -> str:
    if unit == "cm":
        return f"{card.pitch_in * CM_PER_INCH:.2f} cm"
    return f"{card.pitch_in:.3f} in"
