"""Palettes: make, set, list, show, export, forget."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import Home, Json, PictureFile
from stash.errors import PaletteError
from stash.usecases.scrap_numbers import scrap_numbers
from stash.usecases.user_files import read_file, write_beside

if TYPE_CHECKING:
    from stash.colour.palette import Palette

__all__ = ["register"]

_palette = typer.Typer(
    name="palette",
    help="Palettes. The colours a quilt may have, in words, colours or from cloth.",
    no_args_is_help=True,
)

Name = Annotated[str, typer.Argument(help="What you call the palette.", show_default=False)]
Limit = Annotated[
    Optional[list[str]],
    typer.Option("--limit", help="A limit of the verdicts, NAME=NUMBER (see show --explain)."),
]
Without = Annotated[
    Optional[list[str]],
    typer.Option("--without", help="A colour ruled out: pink, navy. Give it again for more."),
]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.add_typer(_palette)


@_palette.command("make")
def make(
    name: Name,
    words: Annotated[
        str, typer.Option(help="Said in words: “blues mostly, a touch of coral; no pinks”.")
    ] = "",
    colours: Annotated[
        str, typer.Option(help="Hex colours with commas between: '#1f3f7a,#2f8f8f'.")
    ] = "",
    without: Without = None,
    gpl: Annotated[
        Optional[Path],
        typer.Option(help="A GIMP palette file.", show_default=False),
    ] = None,
    scraps: Annotated[str, typer.Option(help="Numbers of scraps: 1,3,7-9.")] = "",
    fabric: Annotated[
        Optional[int],
        typer.Option(help="The number of a focus fabric.", show_default=False),
    ] = None,
    photo: Annotated[
        Optional[Path],
        typer.Option(help="A photo of anything whose colours you like.", show_default=False),
    ] = None,
    neutrals: Annotated[
        bool, typer.Option(help="Whether white, grey, black, cream and tan are welcome besides.")
    ] = True,
    limit: Limit = None,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Make a palette. Of words, colours, a file, scraps, a fabric or a photo; or of several."""
    from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette  # NumPy
    from stash.wiring import open_store  # SQLAlchemy

    request = PaletteRequest(
        name=name,
        words=words,
        colours=tuple(_split(colours)),
        gpl=read_file(gpl).decode("utf-8", errors="replace") if gpl else "",
        scraps=scrap_numbers(scraps) if scraps else (),
        fabric=fabric,
        photo=read_file(photo) if photo else b"",
        photo_name=photo.name if photo else "",
        without=tuple(word for text in without or () for word in _split(text)),
        neutrals=neutrals,
        limits=_limits(limit),
    )
    _tell(make_palette(open_store(home), request), as_json=as_json)


@_palette.command("set")
def change(
    name: Name,
    add: Annotated[str, typer.Option(help="Colours that come to it, in words.")] = "",
    drop: Annotated[
        Optional[list[str]],
        typer.Option(help="A colour that leaves it. Give it again for more."),
    ] = None,
    amount: Annotated[
        Optional[list[str]],
        typer.Option(help="How much of a colour: coral=some (main, some or touch)."),
    ] = None,
    without: Without = None,
    allow: Annotated[
        Optional[list[str]],
        typer.Option(help="A colour no longer ruled out. Give it again for more."),
    ] = None,
    neutrals: Annotated[
        Optional[bool],
        typer.Option(
            "--neutrals/--no-neutrals",
            help="Whether neutrals are welcome besides.",
            show_default=False,
        ),
    ] = None,
    limit: Limit = None,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Change a palette in place: add, drop, reweigh, rule out, allow; or its limits."""
    from stash.usecases.palettes.manage_palettes import PaletteChange, change_palette  # NumPy
    from stash.wiring import open_store  # SQLAlchemy

    asked = PaletteChange(
        limits=_limits(limit),
        add=add,
        drop=tuple(word for text in drop or () for word in _split(text)),
        amounts=dict(_amount(text) for text in amount or ()),
        without=tuple(word for text in without or () for word in _split(text)),
        allow=tuple(word for text in allow or () for word in _split(text)),
        neutrals=neutrals,
    )
    palette = change_palette(open_store(home), name, asked)
    _tell(palette, as_json=as_json, explain=bool(limit))


def _amount(text: str) -> tuple[str, str]:
    word, _, amount = text.partition("=")
    if not amount:
        raise PaletteError(f"“{text}” is no amount; write COLOUR=AMOUNT such as coral=some.")
    return word.strip(), amount.strip()


@_palette.command("list")
def list_palettes(home: Home = None, as_json: Json = False) -> None:
    """List the palettes."""
    from stash.usecases.palettes.manage_palettes import palette_record, palettes  # NumPy
    from stash.wiring import open_store  # SQLAlchemy

    found = palettes(open_store(home, must_exist=True))
    if as_json:
        print_json({"palettes": [palette_record(palette) for palette in found]})
    elif not found:
        say("No palette yet; make one: stash palette make NAME --words “blues, no pinks”.")
    else:
        print_table(
            ["palette", "welcome", "ruled out"],
            [[p.name, _welcome(p), ", ".join(p.ruled_out) or "-"] for p in found],
        )


@_palette.command("show")
def show(
    name: Name,
    explain: Annotated[bool, typer.Option("--explain", help="Show every limit too.")] = False,
    picture: PictureFile = None,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Show a palette. --picture draws it, PNG or SVG by the file's ending."""
    from stash.usecases.palettes.manage_palettes import palette_named  # NumPy
    from stash.wiring import open_store  # SQLAlchemy

    palette = palette_named(open_store(home, must_exist=True), name)
    if picture is not None:
        from stash.drawing.palette_picture import draw_palette  # Pillow

        write_beside(picture, draw_palette(palette, svg=picture.suffix.lower() == ".svg"))
    _tell(palette, as_json=as_json, explain=explain)


@_palette.command("export")
def export(
    name: Name,
    file: Annotated[
        Path,
        typer.Argument(
            help="Where to. Its ending says what is written: .gpl (GIMP palette), .csv, .json or "
            ".ase (Adobe swatch exchange); - writes a GIMP palette on the screen."
        ),
    ],
    csv: Annotated[bool, typer.Option("--csv", help="With -: a table (CSV).")] = False,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Write a palette for other programs. GIMP palette, CSV, JSON or Adobe swatch exchange."""
    from stash.colour.palette_files import PALETTE_FORMATS  # NumPy
    from stash.usecases.palettes.manage_palettes import palette_named  # NumPy
    from stash.wiring import open_store  # SQLAlchemy

    on_screen = str(file) == "-"
    ending = (".csv" if csv else ".gpl") if on_screen else file.suffix.lower()
    if ending not in PALETTE_FORMATS or (csv and ending != ".csv"):
        raise PaletteError(
            f"{file} is not written: a palette can be {', '.join(PALETTE_FORMATS)}. Let the file's "
            "name end in one of them."
        )
    palette = palette_named(open_store(home, must_exist=True), name)
    data = PALETTE_FORMATS[ending](palette)
    if on_screen:
        sys.stdout.write(data.decode())
        return
    write_beside(file, data)
    if as_json:
        print_json({"palette": name, "file": str(file), "format": ending.lstrip(".")})
    else:
        say(f"Wrote {name} to {file}.")


@_palette.command("forget")
def forget(name: Name, home: Home = None, as_json: Json = False) -> None:
    """Take a palette away (undo brings it back)."""
    from stash.usecases.palettes.manage_palettes import forget_palette  # NumPy
    from stash.wiring import open_store  # SQLAlchemy

    forget_palette(open_store(home, must_exist=True), name)
    if as_json:
        print_json({"forgotten": name})
    else:
        say(f"Forgot the palette {name}.")


def _tell(palette: Palette, *, as_json: bool, explain: bool = False) -> None:
    from stash.colour.spaces import hex_of_lab  # NumPy
    from stash.usecases.palettes.manage_palettes import family_beside, palette_record

    if as_json:
        print_json(palette_record(palette, explain=explain))
        return
    say(f"Palette {palette.name}")
    rows = [
        [f"{wanted.value} {wanted.family}".strip(), wanted.amount.value, "", wanted.family]
        for wanted in palette.families
    ]
    named = {target: family_beside(palette, target) for target in palette.targets}
    rows += [
        [target.label, target.amount.value, hex_of_lab(target.lab), family]
        for target, family in named.items()
    ]
    print_table(["colour", "amount", "hex", "family"], rows)
    say(f"Ruled out: {', '.join(palette.ruled_out) or 'nothing'}.")
    if kept := [target.label for target, family in named.items() if family in palette.without]:
        say(f"Welcome all the same, being asked for by themselves: {', '.join(kept)}.")
    if palette.not_too:
        say(f"Not too {', not too '.join(palette.not_too)}.")
    say(f"Neutrals: {'welcome' if palette.neutrals else 'not wanted'}.")
    if explain:
        limits = palette.thresholds.explained()
        say()
        print_table(["limit", "now", "meaning"], [[n, f"{v:g}", m] for n, v, m in limits])


def _welcome(palette: Palette) -> str:
    words = [f"{wanted.value} {wanted.family}".strip() for wanted in palette.families]
    return ", ".join(dict.fromkeys([*words, *(target.label for target in palette.targets)])) or "-"


def _split(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _limits(given: list[str] | None) -> dict[str, float]:
    limits: dict[str, float] = {}
    for text in given or ():
        name, _, number = text.partition("=")
        try:
            limits[name.strip()] = float(number)
        except ValueError:
            raise PaletteError(
                f"“{text}” is not a limit; write NAME=NUMBER such as ruled_out_clash=0.2."
            ) from None
    return limits
