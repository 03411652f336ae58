"""Cloth for binding, border and back: what the stash gives, held and cut."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from stash.cli.messages import print_json, print_table, say
from stash.cli.options import Home, Json, PictureFile, QuiltName, Unit
from stash.errors import PlanError
from stash.units import length_words, parse_length, size_words
from stash.usecases.scrap_numbers import scrap_numbers
from stash.usecases.user_files import write_beside

if TYPE_CHECKING:
    from stash.quilt.edge_cloth import ClothUse
    from stash.quilt.plan import HeldCloth, Quilt
    from stash.usecases.papers.edge_cloth import ClothAnswer, ClothLine, ClothWish
    from stash.usecases.ports import Store

__all__ = ["cloth", "cloth_record"]

_USES = ("binding", "border", "backing")


def cloth(
    name: QuiltName,
    use: Annotated[str, typer.Option("--for", help="binding, border or backing.")],
    width: Annotated[
        str, typer.Option(help="Width to cut the binding, or finished width of the border.")
    ] = "",
    bias: Annotated[
        Optional[bool],
        typer.Option("--bias/--straight-grain", help="How binding is cut (default: as it needs)."),
    ] = None,
    backing_over: Annotated[str, typer.Option(help="Backing over the top, each side.")] = "4 in",
    family: Annotated[str, typer.Option(help="Only cloth of this colour family.")] = "",
    take: Annotated[
        Optional[list[str]],
        typer.Option("--take", help="Hold cloth of these scraps, as far as it needs: 4,7."),
    ] = None,
    free: Annotated[bool, typer.Option("--free", help="Let go what is held for it.")] = False,
    cut: Annotated[bool, typer.Option("--cut", help="Record that what is held is cut.")] = False,
    picture: PictureFile = None,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Cloth for binding, border or backing. What the stash gives, by length and colour; held too.

    The picture shows strips of each cloth along the grain and on the bias: stripes and plaids
    look different there.
    """
    from stash.usecases.papers.edge_cloth import cloth_for, cut_cloth, hold_cloth  # shapely
    from stash.usecases.papers.edge_cloth import free_cloth as let_go
    from stash.wiring import open_store

    if sum((bool(take), free, cut)) > 1:
        raise PlanError("Take cloth, free it or cut it: one at a time.")
    store = open_store(home, must_exist=True)
    wish = _wish(use, width, backing_over, bias=bias, family=family, unit=unit)
    if free:
        let_go(store, name, wish.use)
    if cut:
        done = cut_cloth(store, name, wish.use)
        _say_cut(done, wish.use, as_json=as_json)
        return
    answer = (
        hold_cloth(store, name, wish, scrap_numbers(take)) if take else cloth_for(store, name, wish)
    )
    if picture is not None:
        _draw(store, answer, picture)
    if as_json:
        print_json(cloth_record(answer))
        return
    _say(answer, unit)
    if picture is not None:
        say(f"Written: {picture}")


def cloth_record(answer: ClothAnswer) -> dict[str, Any]:
    """Give an answer about cloth for JSON."""
    return {
        "quilt": answer.quilt.name,
        "for": str(answer.use),
        "needed_in": round(answer.needed_in, 3),
        "cut_in": round(answer.cut_in, 3) or None,
        "border_in": answer.border_in,
        "bias": answer.bias,
        "backing": [
            round(answer.finishing.backing.width_in, 3),
            round(answer.finishing.backing.length_in, 3),
        ],
        "fabrics": [_line_record(one) for one in answer.lines],
        "together": list(answer.together),
        "held": [_held_record(one) for one in answer.held],
        "held_share": round(answer.held_share, 4),
    }


def _line_record(line: ClothLine) -> dict[str, Any]:
    return {
        "fabric": line.fabric,
        "name": line.name,
        "family": line.family,
        "value": line.value,
        "verdict": line.verdict,
        "enough": line.enough,
        "gives_in": round(line.gives_in, 3),
        "share": round(line.share, 4),
        "looks_different_on_the_bias": line.looks_turned,
        "scraps": [_held_record(one) for one in line.scraps],
        "panels": [
            {
                "scraps": list(one.scraps),
                "wide_in": round(one.wide_in, 3),
                "long_in": round(one.long_in, 3),
            }
            for one in line.panels
        ],
    }


def _held_record(one: HeldCloth) -> dict[str, Any]:
    return {
        "scrap": one.scrap,
        "fabric": one.fabric,
        "lengths_in": [round(length, 3) for length in one.lengths_in],
        "width_in": round(one.width_in, 3),
        "cut": one.cut,
        "outlines": [[[round(x, 4), round(y, 4)] for x, y in ring] for ring in one.rings],
    }


def _wish(
    use: str, width: str, backing_over: str, *, bias: bool | None, family: str, unit: str
) -> ClothWish:
    from stash.quilt.edge_cloth import ClothUse  # light, but only here
    from stash.quilt.finishing import FinishingWish, StripGrain  # loads shapely
    from stash.usecases.papers.edge_cloth import ClothWish

    if use not in _USES:
        raise PlanError(f"Cloth is for a binding, a border or a backing, not “{use}”.")
    wide = parse_length(width, unit=unit) if width else None
    grain = None if bias is None else StripGrain.BIAS if bias else StripGrain.STRAIGHT
    finishing = FinishingWish(
        cut_in=wide if use == "binding" else None,
        grain=grain,
        backing_over_in=parse_length(backing_over, unit=unit),
    )
    border = wide if use == "border" else None
    return ClothWish(ClothUse(use), finishing, border, family.strip())


def _draw(store: Store, answer: ClothAnswer, picture: Path) -> None:
    from stash.usecases.papers.draw_edge_cloth import strips_picture  # loads Pillow

    svg = picture.suffix.lower() == ".svg"
    write_beside(picture, strips_picture(store, answer, svg=svg))


def _say_cut(quilt: Quilt, use: ClothUse, *, as_json: bool) -> None:
    done = [one for one in quilt.cloth if one.use == use and one.cut]
    if as_json:
        print_json({"quilt": quilt.name, "for": str(use), "held": [_held_record(x) for x in done]})
        return
    strips = sum(len(one.rings) for one in done)
    say(f"{strips} lengths of cloth are cut for the {use} of “{quilt.name}”.")


def _say(answer: ClothAnswer, unit: str) -> None:
    def long(inches: float) -> str:
        return length_words(inches, unit=unit)

    backing = answer.finishing.backing
    if answer.use == "backing":
        need = f"a back of {size_words(backing.width_in, backing.length_in, unit=unit)}"
    else:
        way = " on the bias" if answer.bias else ""
        need = f"{long(answer.needed_in)} of strips cut {long(answer.cut_in)} wide{way}"
    say(f"{str(answer.use).capitalize()}: {need}")
    if answer.use == "border":
        edge = answer.finishing.edge
        wide = size_words(edge.width_in, edge.length_in, unit=unit)
        say(f"Finished {long(answer.border_in)} wide; with it the quilt is {wide}")
    if answer.held:
        held = ", ".join(f"#{one.scrap}{' (cut)' if one.cut else ''}" for one in answer.held)
        say(f"Held: {held}, {min(1.0, answer.held_share):.0%} of it")
    if not answer.lines:
        say("No cloth of the stash gives a length for it.")
        return
    rows = [
        [
            str(line.fabric),
            line.name,
            _verdict(line.verdict),
            "enough" if line.enough else f"{line.share:.0%}",
            long(line.gives_in),
            ", ".join(f"#{one.scrap}" for one in line.scraps),
            "slantwise" if line.looks_turned else "as straight",
        ]
        for line in answer.lines
    ]  # fmt: skip
    print_table(["fabric", "cloth", "palette", "gives", "length", "scraps", "on the bias"], rows)
    if answer.together:
        some = ", ".join(f"#{number}" for number in answer.together)
        say(f"No cloth alone is enough; these together are: {some}")
    elif not answer.lines[0].enough:
        say("Nor is all that belongs together; the finishing answer says what to buy.")


def _verdict(verdict: str) -> str:
    return "look twice" if verdict == "borderline" else verdict
