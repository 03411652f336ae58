"""Scraps and fabrics in lists and on sheets."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional, TypeVar

import typer

from stash.cli.messages import print_csv, print_json, print_table, say
from stash.cli.options import (
    GreyValues,
    Home,
    Json,
    PictureFile,
    SortBy,
    Unit,
    ask_for_picture,
)
from stash.usecases.user_files import write_beside
from stash.wiring import open_store
from stash.wording import counted

if TYPE_CHECKING:
    from stash.usecases.scraps.review_scraps import ScrapFilter, ScrapView
    from stash.usecases.scraps.scrap_sheet import SheetLook

__all__ = ["register"]

_View = TypeVar("_View")


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("scraps")(list_scraps)
    app.command("fabrics")(list_fabrics)


Families = Annotated[
    Optional[list[str]],
    typer.Option("--family", help="Only this colour family; may be repeated.", show_default=False),
]
Values = Annotated[
    Optional[list[str]],
    typer.Option("--value", help="Only light, medium or dark; may be repeated."),
]
Kinds = Annotated[
    Optional[list[str]],
    typer.Option("--kind", help="Only plain, tone-on-tone, print, stripe or plaid."),
]
Bin = Annotated[str, typer.Option("--bin", help="Only what lies in this bin.")]
Text = Annotated[str, typer.Option("--text", help="Only where this is part of name or notes.")]
AtLeast = Annotated[
    str,
    typer.Option("--at-least", help="Only where the box around it is so big, e.g. '5 x 7'."),
]
Washed = Annotated[
    Optional[bool],
    typer.Option("--washed/--unwashed", help="Only washed, only unwashed.", show_default=False),
]
AsTable = Annotated[bool, typer.Option("--csv", help="As a table for a spreadsheet (CSV).")]
State = Annotated[str, typer.Option("--state", help="Only whole, reserved or 'cut up'.")]


def list_scraps(
    family: Families = None,
    value: Values = None,
    kind: Kinds = None,
    bin_: Bin = "",
    text: Text = "",
    at_least: AtLeast = "",
    washed: Washed = None,
    state: State = "",
    sort_by: SortBy = None,
    picture: PictureFile = None,
    values: GreyValues = False,
    as_table: AsTable = False,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """List scraps: size, colour, value, bin."""
    from stash.cli import scrap_answers  # numpy and shapely
    from stash.usecases.scraps.review_scraps import find_scraps

    ask_for_picture(picture, values=values)
    store = open_store(home, must_exist=True)
    wanted = _filter_of(
        families=family, values=value, kinds=kind, place=bin_, text=text, washed=washed,
        state=state, at_least=at_least, unit=unit,
    )  # fmt: skip
    views = _in_order(find_scraps(store, wanted), sort_by, lambda view: view)
    if picture is not None:
        look = _look(picture, sort_by, values=values)
        _draw(store, views, picture, look, counted_as="scrap", unit=unit)
    if as_json:
        print_json({"scraps": [scrap_answers.scrap_as_json(view) for view in views]})
    elif as_table:
        print_csv([scrap_answers.scrap_as_json(view) for view in views])
    elif views:
        print_table(scrap_answers.SCRAP_HEADS, scrap_answers.scrap_rows(views, unit=unit))
        say(f"{counted(len(views), 'scrap')}.")
    else:
        say("No scrap is like that." if wanted != _filter_of() else "There is no scrap yet.")


def list_fabrics(
    family: Families = None,
    value: Values = None,
    kind: Kinds = None,
    bin_: Bin = "",
    text: Text = "",
    at_least: AtLeast = "",
    washed: Washed = None,
    state: State = "",
    sort_by: SortBy = None,
    picture: PictureFile = None,
    values: GreyValues = False,
    as_table: AsTable = False,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """List fabrics. A charm quilt uses each once, however many scraps there are of it."""
    from stash.cli import scrap_answers  # numpy and shapely
    from stash.usecases.scraps.review_scraps import find_fabrics

    ask_for_picture(picture, values=values)
    store = open_store(home, must_exist=True)
    wanted = _filter_of(
        families=family, values=value, kinds=kind, place=bin_, text=text, washed=washed,
        state=state, at_least=at_least, unit=unit,
    )  # fmt: skip
    views = _in_order(find_fabrics(store, wanted), sort_by, lambda view: view.scraps[0])
    if picture is not None:
        look = _look(picture, sort_by, values=values)
        largest = [view.scraps[0] for view in views]
        _draw(store, largest, picture, look, counted_as="fabric", unit=unit)
    from stash.usecases.twins.one_cloth_questions import count_fabrics

    count = count_fabrics(store, [view.fabric.number for view in views])
    if as_json:
        listed = [scrap_answers.fabric_as_json(view) for view in views]
        print_json({"fabrics": listed, "count": count.as_json()})
    elif as_table:
        print_csv([scrap_answers.fabric_as_json(view) for view in views])
    elif views:
        print_table(scrap_answers.FABRIC_HEADS, scrap_answers.fabric_rows(views, unit=unit))
        once = ": what may be one cloth stands here once for each. Look: stash twins"
        say(f"{count}{once if count.undecided else '.'}")
    else:
        say("No fabric is like that." if wanted != _filter_of() else "There is no fabric yet.")


def _filter_of(*, at_least: str = "", unit: str = "in", **given: Any) -> ScrapFilter:
    from stash.usecases.ruler_sizes import size_from_words
    from stash.usecases.scraps.review_scraps import ScrapFilter

    words: dict[str, Any] = {
        name: tuple(value or ()) if name in ("families", "values", "kinds") else value
        for name, value in given.items()
    }
    if at_least:
        size = size_from_words(at_least, unit=unit)
        words |= {"least_short_in": size.width_in, "least_long_in": size.height_in}
    return ScrapFilter(**words)


def _in_order(
    views: Sequence[_View], by: str | None, scrap_of: Callable[[_View], ScrapView]
) -> Sequence[_View]:
    if by is None:
        return views
    from stash.usecases.scraps.arrange_scraps import arrange  # numpy and shapely

    groups = arrange([scrap_of(view) for view in views], by)
    numbers = [view.scrap.number for group in groups for view in group.views]
    place = {number: position for position, number in enumerate(numbers)}
    return sorted(views, key=lambda view: place[scrap_of(view).scrap.number])


def _look(picture: Path, by: str | None, *, values: bool) -> SheetLook:
    from stash.usecases.scraps.scrap_sheet import SheetLook  # the drawing library

    return SheetLook(by or "family", values, picture.suffix.lower() == ".svg")


def _draw(
    store: Any,
    views: Sequence[ScrapView],
    picture: Path,
    look: SheetLook,
    *,
    counted_as: str,
    unit: str,
) -> None:
    from stash.usecases.scraps.scrap_sheet import scrap_sheet  # the drawing library

    write_beside(picture, scrap_sheet(store, views, look, counted_as=counted_as, unit=unit))
