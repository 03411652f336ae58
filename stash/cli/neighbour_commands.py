"""Do I own this, what can stand in for that, what do I have of each colour."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import GreyValues, Home, Json, PictureFile, Unit, ask_for_picture
from stash.units import size_words
from stash.usecases.scrap_numbers import scrap_numbers

if TYPE_CHECKING:
    from stash.usecases.palettes.goes_with import Companions
    from stash.usecases.palettes.manage_palettes import PaletteRequest
    from stash.usecases.quilts.neighbours import PlaceForScrap

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("own")(own)
    app.command("substitutes")(stand_ins)
    app.command("tally")(count)
    app.command("uses")(uses)
    app.command("goes-with")(goes_with)


def own(
    photo: Annotated[Path, typer.Argument(help="A photo of the cloth beside the card.")],
    home: Home = None,
    card: Annotated[
        Optional[str],
        typer.Option(help="The reference card on the photo (default: the newest registered)."),
    ] = None,
    as_json: Json = False,
) -> None:
    """Do I own this already? Nothing is logged."""
    from stash.colour.colour_name import colour_name  # loads NumPy
    from stash.usecases.photos.add_photo import cards_to_use
    from stash.usecases.photos.log_batch import looks_on
    from stash.usecases.twins.same_fabric import own_photo
    from stash.wiring import open_store

    store = open_store(home)
    answers = own_photo(store, looks_on(photo, cards_to_use(store, card)))
    if as_json:
        print_json(
            {
                "cloths": [
                    {
                        "reads_as_lab": [round(value, 2) for value in one.appearance.reads_as],
                        "owned": one.owned,
                        "alike": [
                            {"fabric": two.fabric, "likeness": round(two.likeness, 3)}
                            for two in one.alike
                        ],
                    }
                    for one in answers
                ]
            }
        )
        return
    for number, one in enumerate(answers, start=1):
        name = colour_name(one.appearance.reads_as)
        if one.owned:
            near = ", ".join(f"{two.fabric} ({two.likeness:.0%} alike)" for two in one.alike)
            say(f"cloth {number} ({name}): compare it with fabric {near}")
        else:
            say(f"cloth {number} ({name}): nothing here looks like it")


def stand_ins(
    fabric: Annotated[int, typer.Argument(help="The fabric that ran out.")],
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Which fabrics can stand in for one that ran out. Same family, same value first."""
    from stash.usecases.quilts.neighbours import substitutes  # loads NumPy
    from stash.wiring import open_store

    found = substitutes(open_store(home, must_exist=True), fabric)
    if as_json:
        print_json(
            {
                "substitutes": [
                    {
                        "fabric": one.fabric,
                        "difference_de00": round(one.difference, 2),
                        "same_value": one.same_value,
                    }
                    for one in found
                ]
            }
        )
        return
    if not found:
        say("No other fabric of that colour family is here.")
        return
    print_table(
        ["fabric", "apart (CIEDE2000)", "value"],
        [
            [str(one.fabric), f"{one.difference:.1f}", "same" if one.same_value else "another"]
            for one in found
        ],
    )


def count(home: Home = None, as_json: Json = False) -> None:
    """How many fabrics there are of each colour family and value."""
    from stash.usecases.quilts.neighbours import tally  # loads NumPy
    from stash.wiring import open_store

    found = tally(open_store(home, must_exist=True))
    if as_json:
        print_json(
            {
                "tally": [
                    {
                        "family": one.family,
                        "value": one.value,
                        "fabrics": one.fabrics,
                        "count": one.count.as_json(),
                    }
                    for one in found
                ]
            }
        )
        return
    print_table(
        ["family", "value", "fabrics"], [[one.family, one.value, one.range] for one in found]
    )


def uses(
    numbers: Annotated[
        str, typer.Argument(metavar="SCRAPS", help="The scraps in hand: 12 or 1,3,7-9.")
    ],
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Which palettes and quilts could use this scrap, or each of some."""
    from stash.usecases.quilts.neighbours import could_join  # loads NumPy
    from stash.wiring import open_store

    store = open_store(home, must_exist=True)
    held = [store.scrap(number) for number in scrap_numbers(numbers)]
    found = [could_join(store, scrap) for scrap in held]
    if as_json:
        records = [_uses_record(scrap.number, one) for scrap, one in zip(held, found, strict=True)]
        print_json(records[0] if len(records) == 1 else {"scraps": records})
        return
    if not found[0]:
        say("There is no palette and no quilt yet. Make one with: stash palette make NAME")
        return
    for scrap, places in zip(held, found, strict=True):
        if scrap is not held[0]:
            say()
        say(f"Scrap {scrap.number}, {size_words(*scrap.outline.least_box_in(), unit=unit)}")
        print_table(
            ["for", "name", "colour", "size"],
            [[one.kind, one.name, one.verdict, _size_word(one)] for one in places],
        )


def _uses_record(number: int, places: Sequence[PlaceForScrap]) -> dict[str, Any]:
    uses = [
        {
            "kind": one.kind, "name": one.name, "verdict": one.verdict, "fits": one.fits,
            "held": one.held,
        }
        for one in places
    ]  # fmt: skip
    return {"scrap": number, "uses": uses}


def _size_word(place: PlaceForScrap) -> str:
    if place.kind == "palette":
        return ""
    if place.held:
        return "held by another quilt"
    return "gives a piece" if place.fits else "too small"


def goes_with(
    scraps: Annotated[str, typer.Option(help="Scraps: 12 or 1,3,7-9.")] = "",
    fabric: Annotated[
        Optional[int],
        typer.Option(help="The number of a focus fabric.", show_default=False),
    ] = None,
    photo: Annotated[
        Optional[Path],
        typer.Option(help="A photo of anything whose colours you like.", show_default=False),
    ] = None,
    picture: PictureFile = None,
    values: GreyValues = False,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """What goes with these? What echoes their colours, and what they would still want."""
    from stash.colour.spaces import hex_of_lab  # loads NumPy
    from stash.usecases.palettes.goes_with import goes_with as ask
    from stash.usecases.palettes.manage_palettes import PaletteRequest
    from stash.usecases.scraps.review_scraps import words_for_fabrics
    from stash.usecases.user_files import read_file
    from stash.wiring import open_store

    store = open_store(home, must_exist=True)
    request = PaletteRequest(
        name="chosen",
        scraps=scrap_numbers(scraps) if scraps else (),
        fabric=fabric,
        photo=read_file(photo) if photo else b"",
        photo_name=photo.name if photo else "",
    )
    ask_for_picture(picture, values=values)
    found = ask(store, request)
    if picture is not None:
        _draw_companions(store, request, found, picture, values=values)
    if as_json:
        print_json(
            {
                "colours": [
                    {"hex": hex_of_lab(one.lab), "name": one.label, "amount": one.amount.value}
                    for one in found.palette.targets
                ],
                "goes_with": [
                    {"fabric": number, "echo": round(part, 3)}
                    for number, part in zip(found.fabrics, found.echoes, strict=True)
                ],
                "wanting": [
                    {"what": one.what, "fabrics": list(one.fabrics)} for one in found.wanting
                ],
            }
        )
        return
    names = words_for_fabrics(store)
    say("Colours: " + ", ".join(f"{one.label} ({one.amount})" for one in found.palette.targets))
    rows = [
        [str(number), names.get(number, ""), f"{part:.0%}"]
        for number, part in zip(found.fabrics, found.echoes, strict=True)
    ]
    if rows:
        print_table(["fabric", "name", "echoes"], rows)
    else:
        say("Nothing else here goes with them.")
    for one in found.wanting:
        which = ", ".join(f"{number} ({names.get(number, '')})" for number in one.fabrics)
        say(f"It would want {one.what}: {which or 'none here goes with it'}.")


def _draw_companions(
    store: Any, request: PaletteRequest, found: Companions, picture: Path, *, values: bool
) -> None:
    from stash.usecases.palettes.goes_with import chosen_fabrics
    from stash.usecases.scraps.draw_answers import companions_sheet  # Pillow
    from stash.usecases.user_files import write_beside

    svg = picture.suffix.lower() == ".svg"
    chosen = chosen_fabrics(store, request)
    write_beside(picture, companions_sheet(store, chosen, found, values=values, svg=svg))
