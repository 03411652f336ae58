"""Finishing a quilt: edge, binding, backing and batting."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stash.cli.messages import print_json
from stash.cli.options import Home, Json, MaybeQuilt, Unit
from stash.errors import PlanError
from stash.units import parse_length, parse_pair

if TYPE_CHECKING:
    from stash.quilt.finishing import Edge, FinishingWish

__all__ = ["finishing"]


def finishing(
    name: MaybeQuilt = "",
    finished: Annotated[
        str, typer.Option(help="Instead of a quilt: the finished size, e.g. 60x72.")
    ] = "",
    scallops: Annotated[
        int, typer.Option(help="With --finished: scallops all round the edge.")
    ] = 0,
    scallop: Annotated[str, typer.Option(help="Width and depth of a scallop, e.g. 6x1.5.")] = "",
    binding: Annotated[str, typer.Option(help="double or single fold.")] = "double",
    grain: Annotated[str, typer.Option(help="straight or bias (default: as the edge needs).")] = "",
    cut_width: Annotated[str, typer.Option(help="Width to cut the binding.")] = "",
    show_width: Annotated[str, typer.Option(help="Or: what is to show of the binding.")] = "",
    extra: Annotated[str, typer.Option(help="Added to the edge for corners and joining.")] = "",
    bias_extra: Annotated[str, typer.Option(help="Added to the bias square for its seams.")] = "0",
    usable: Annotated[str, typer.Option(help="Usable width of the binding cloth.")] = "40 in",
    diagonal: Annotated[
        bool, typer.Option("--diagonal-joins", help="Count what slanted joins eat.")
    ] = False,
    backing_over: Annotated[str, typer.Option(help="Backing over the top, each side.")] = "4 in",
    backing_usable: Annotated[str, typer.Option(help="Usable width of the backing.")] = "40 in",
    batting_over: Annotated[
        str, typer.Option(help="Batting over the top, whole width and length.")
    ] = "8 in",
    shrink: Annotated[
        float, typer.Option(help="Percent that unwashed backing and binding lose in the wash.")
    ] = 0.0,
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Finished size, edge, binding, backing, batting. Also the edge trimmed straight."""
    from stash.cli.sheet_answers import finishing_record, say_finishing
    from stash.quilt.finishing import finish  # loads shapely
    from stash.usecases.papers.print_sheets import finishing_of, thread_of, top_of_quilt
    from stash.wiring import open_store

    def length(text: str) -> float:
        return parse_length(text, unit=unit)

    wish = _wish(
        {"binding": binding, "grain": grain, "diagonal": diagonal},
        {
            "cut_in": length(cut_width) if cut_width else None,
            "finished_in": length(show_width) if show_width else None,
            "extra_in": length(extra) if extra else None,
            "bias_extra_in": length(bias_extra),
            "usable_in": length(usable),
            "backing_over_in": length(backing_over),
            "backing_usable_in": length(backing_usable),
            "batting_over_in": length(batting_over),
            "shrink_share": shrink / 100,
        },
    )
    thread = None
    if finished:
        answer = finish(_edge(finished, scallops, scallop, unit), wish)
    elif name:
        top = top_of_quilt(open_store(home, must_exist=True), name)
        answer, thread = finishing_of(top, wish), thread_of(top)
    else:
        raise PlanError("Name a quilt, or give its finished size with --finished 60x72.")
    if as_json:
        print_json(finishing_record(answer, thread))
        return
    say_finishing(answer, thread, unit=unit)


def _wish(words: dict[str, str | bool], lengths: dict[str, float | None]) -> FinishingWish:
    from stash.quilt.binding import BindingFold  # loads shapely
    from stash.quilt.finishing import FinishingWish, StripGrain

    if words["binding"] not in tuple(BindingFold):
        raise PlanError(f"Binding is double or single, not “{words['binding']}”.")
    if words["grain"] and words["grain"] not in tuple(StripGrain):
        raise PlanError(f"Binding is cut on the straight or the bias, not “{words['grain']}”.")
    given = {key: value for key, value in lengths.items() if value is not None}
    return FinishingWish(
        fold=BindingFold(str(words["binding"])),
        grain=StripGrain(str(words["grain"])) if words["grain"] else None,
        diagonal_joins=bool(words["diagonal"]),
        **given,
    )


def _edge(finished: str, scallops: int, scallop: str, unit: str) -> Edge:
    from stash.quilt.edges import arc_length
    from stash.quilt.finishing import Edge  # loads shapely

    width_in, length_in = parse_pair(finished, unit=unit)
    if not scallops and not scallop:
        return Edge.straight(width_in, length_in)
    if scallops < 1 or not scallop:
        raise PlanError("Give both the number of scallops and the size of one, e.g. 6x1.5.")
    chord_in, depth_in = parse_pair(scallop, unit=unit)
    edge_in = scallops * arc_length(chord_in, depth_in)
    return Edge(width_in, length_in, edge_in, curved=True, inner_corners=scallops)
