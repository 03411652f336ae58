"""Sheets for the cutting table and the sewing machine."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from stash.cli.messages import print_json, say
from stash.cli.options import Home, Json, Unit
from stash.errors import PlanError, TemplateError
from stash.units import parse_length
from stash.usecases.user_files import write_beside

if TYPE_CHECKING:
    from stash.drawing.pdf_page import Paper
    from stash.quilt.finishing import Edge, FinishingWish
    from stash.quilt.quilting_lines import LineStyle
    from stash.usecases.print_sheets import Top

__all__ = ["register", "register_quilt", "register_template"]

PaperName = Annotated[str, typer.Option("--paper", help="letter or a4.")]
OutFile = Annotated[
    Optional[Path],  # noqa: UP045 - typer reads it at run time
    typer.Option("--out", help="Write into this PDF (default: a name of its own, here)."),
]
QuiltName = Annotated[str, typer.Argument(help="The name of the quilt.", show_default=False)]
MaybeQuilt = Annotated[
    str, typer.Argument(help="The name of a quilt; or give --template.", show_default=False)
]
ShapeName = Annotated[str, typer.Option("--template", help="Instead of a quilt: a shape.")]
ShapeSize = Annotated[
    Optional[str],  # noqa: UP045
    typer.Option("--size", help="Its finished size, e.g. 4, 4 1/2 or 2x4."),
]
SettingName = Annotated[str, typer.Option("--setting", help="How the shape is set.")]
Seam = Annotated[str, typer.Option("--seam", help="Seam allowance.")]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
    app.command("labels")(labels)


def register_template(templates: typer.Typer) -> None:
    """Add the sheets of a shape to its commands."""
    templates.command("print")(print_template)


def register_quilt(quilt: typer.Typer) -> None:
    """Add the sheets of one quilt to its commands."""
    quilt.command("cutsheets")(cutsheets)
    quilt.command("sewing")(sewing)
    quilt.command("guide")(guide)
    quilt.command("finishing")(finishing)


def print_template(
    shape: Annotated[
        str, typer.Argument(help="A shape of the library, or a file.", show_default=False)
    ] = "",
    template: Annotated[str, typer.Option("--template", help="The same, as an option.")] = "",
    size: Annotated[
        Optional[list[str]],  # noqa: UP045 - typer reads it at run time
        typer.Option("--size", help="Finished size. Give it again for more sizes."),
    ] = None,
    seam: Seam = "1/4",
    paper: PaperName = "letter",
    out: OutFile = None,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Print a template at true size: cut line, seam line, grain, notches, check squares."""
    from stash.cli.sheet_answers import template_record  # noqa: PLC0415
    from stash.drawing.template_sheet import template_pdf  # noqa: PLC0415 - loads the PDF library
    from stash.usecases.manage_templates import template_of  # noqa: PLC0415
    from stash.wiring import open_store  # noqa: PLC0415

    if bool(shape) == bool(template):
        raise TemplateError("Name one shape to print, e.g. stash template print tumbler --size 4.")
    template = shape or template
    store, seam_in = open_store(home), parse_length(seam)
    sizes: list[str | None] = [*size] if size else [None]
    chosen = [template_of(store, template, size=one, seam_allowance_in=seam_in) for one in sizes]
    name = "-".join([Path(template).stem, *(size or [])])
    file = _write(out, name, paper, template_pdf(chosen, _paper(paper)))
    if as_json:
        print_json({"file": str(file), "templates": [template_record(one) for one in chosen]})
        return
    say(f"{file}: print it at 100 % and measure both squares before you cut.")


def cutsheets(
    name: QuiltName,
    layers: Annotated[int, typer.Option(help="Most layers of cloth in a stack.")] = 6,
    paper: PaperName = "letter",
    out: OutFile = None,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Where to lay the template on every scrap, which scraps to stack, how wide to cut strips."""
    from stash.cli.sheet_answers import cut_record, say_cuts  # noqa: PLC0415
    from stash.usecases.print_sheets import cut_list, cut_sheets  # noqa: PLC0415
    from stash.wiring import open_store  # noqa: PLC0415

    cuts = cut_list(open_store(home, must_exist=True), name, layers=layers)
    file = _write(out, f"{name}-cutting", paper, cut_sheets(cuts, _paper(paper)))
    if as_json:
        print_json({"file": str(file), **cut_record(cuts)})
        return
    say_cuts(cuts)
    say(f"Sheets: {file}")


def sewing(
    name: MaybeQuilt = "",
    template: ShapeName = "",
    size: ShapeSize = None,
    setting: SettingName = "",
    seam: Seam = "1/4",
    paper: PaperName = "letter",
    out: OutFile = None,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """In which order to sew, which piece on top, and where every seam is pressed."""
    from stash.cli.sheet_answers import say_sewing, sewing_record  # noqa: PLC0415
    from stash.usecases.print_sheets import sewing_of, sewing_sheet  # noqa: PLC0415

    top = _top(home, name, template, size, setting, seam)
    plan = sewing_of(top)
    file = _write(
        out, f"{name or top.template.name}-sewing", paper, sewing_sheet(top, _paper(paper))
    )
    if as_json:
        print_json({"file": str(file), **sewing_record(plan, top.template)})
        return
    say_sewing(plan, top.template)
    say(f"Sheet: {file}")


def guide(
    name: MaybeQuilt = "",
    template: ShapeName = "",
    size: ShapeSize = None,
    setting: SettingName = "",
    style: Annotated[
        str,
        typer.Option(help="arcs (crossing to crossing), echo (inside every piece) or seams."),
    ] = "arcs",
    depth: Annotated[str, typer.Option(help="How far inside the seam a line lies.")] = "1/4",
    seam: Seam = "1/4",
    svg: Annotated[
        Optional[Path],  # noqa: UP045
        typer.Option("--svg", help="Draw the whole top into this SVG as well."),
    ] = None,
    paper: PaperName = "letter",
    out: OutFile = None,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Quilting lines without lifting the needle: how long, how many passes, a stencil."""
    from stash.cli.sheet_answers import guide_record, guide_sentence  # noqa: PLC0415
    from stash.usecases.print_sheets import guide_of, stencil_sheet  # noqa: PLC0415

    top = _top(home, name, template, size, setting, seam)
    lines = guide_of(top, _style(style), parse_length(depth))
    file = _write(
        out,
        f"{name or top.template.name}-quilting",
        paper,
        stencil_sheet(top, lines, _paper(paper)),
    )
    if svg is not None:
        write_beside(svg, stencil_sheet(top, lines, None))
    if as_json:
        print_json({"file": str(file), "svg": str(svg) if svg else None, **guide_record(lines)})
        return
    say(f"{guide_sentence(lines)}.")
    say(f"Stencil: {file}")


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
    usable: Annotated[str, typer.Option(help="Usable width of the binding cloth.")] = "40",
    diagonal: Annotated[
        bool, typer.Option("--diagonal-joins", help="Count what slanted joins eat.")
    ] = False,
    backing_over: Annotated[str, typer.Option(help="Backing over the top, each side.")] = "4",
    backing_usable: Annotated[str, typer.Option(help="Usable width of the backing.")] = "40",
    batting_over: Annotated[
        str, typer.Option(help="Batting over the top, whole width and length.")
    ] = "8",
    unit: Unit = "in",
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Finished size, edge, binding, backing, batting; and the edge trimmed straight."""
    from stash.cli.sheet_answers import finishing_record, say_finishing  # noqa: PLC0415
    from stash.quilt.finishing import finish  # noqa: PLC0415 - loads shapely
    from stash.usecases.print_sheets import finishing_of, top_of_quilt  # noqa: PLC0415
    from stash.wiring import open_store  # noqa: PLC0415

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
        },
    )
    if finished:
        answer = finish(_edge(finished, scallops, scallop, unit), wish)
    elif name:
        answer = finishing_of(top_of_quilt(open_store(home, must_exist=True), name), wish)
    else:
        raise PlanError("Name a quilt, or give its finished size with --finished 60x72.")
    if as_json:
        print_json(finishing_record(answer))
        return
    say_finishing(answer, unit=unit)


def labels(
    bins: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Argument(help="Bins to label (default: all that hold scraps)."),
    ] = None,
    find: Annotated[
        str, typer.Option("--find", help="The code of a label: say what its bin holds.")
    ] = "",
    paper: PaperName = "letter",
    out: OutFile = None,
    home: Home = None,
    as_json: Json = False,
) -> None:
    """Print labels for bins: families, sizes and a code; find a bin again by its code."""
    from stash.cli.sheet_answers import label_record, say_scraps, scrap_record  # noqa: PLC0415
    from stash.usecases.print_sheets import (  # noqa: PLC0415 - loads the PDF library
        bin_labels,
        find_by_code,
        label_sheet,
    )
    from stash.wiring import open_store  # noqa: PLC0415

    store = open_store(home)
    if find:
        scraps = find_by_code(store, find)
        if as_json:
            print_json({"bin": scraps[0].place, "scraps": [scrap_record(one) for one in scraps]})
        else:
            say_scraps(scraps)
        return
    made = bin_labels(store, bins or [])
    if not made:
        say("No scrap has a bin yet. Log scraps with: stash log PHOTO --bin NAME")
        return
    file = _write(out, "bin-labels", paper, label_sheet(made, _paper(paper)))
    if as_json:
        print_json({"file": str(file), "labels": [label_record(one) for one in made]})
        return
    for one in made:
        say(f"{one.place}: {one.scraps} scraps of {one.fabrics} fabrics ({'; '.join(one.lines)})")
    say(f"Labels: {file}")


def _paper(name: str) -> Paper:
    from stash.drawing.pdf_page import paper_named  # noqa: PLC0415 - loads the PDF library

    return paper_named(name)


def _write(out: Path | None, name: str, paper: str, data: bytes) -> Path:
    plain = re.sub(r"[^\w.-]+", "-", name.strip()).strip("-").lower() or "sheet"
    file = out if out is not None else Path(f"{plain}-{paper.strip().lower()}.pdf")
    write_beside(file, data)
    return file


def _top(
    home: Path | None, name: str, template: str, size: str | None, setting: str, seam: str
) -> Top:
    from stash.usecases.manage_templates import template_of  # noqa: PLC0415 - loads shapely
    from stash.usecases.print_sheets import top_of_quilt, top_of_shape  # noqa: PLC0415
    from stash.wiring import open_store  # noqa: PLC0415

    if bool(name) == bool(template):
        raise PlanError("Name a quilt, or a shape with --template and --size.")
    store = open_store(home)
    if name:
        return top_of_quilt(store, name)
    shape = template_of(store, template, size=size, seam_allowance_in=parse_length(seam))
    return top_of_shape(shape, setting, rows=4)


def _style(name: str) -> LineStyle:
    from stash.quilt.quilting_lines import LineStyle  # noqa: PLC0415 - loads networkx

    try:
        return LineStyle(name.strip().lower())
    except ValueError:
        known = ", ".join(LineStyle)
        raise PlanError(f"I know no quilting lines “{name}”. There are: {known}.") from None


def _wish(words: dict[str, str | bool], lengths: dict[str, float | None]) -> FinishingWish:
    from stash.quilt.binding import BindingFold  # noqa: PLC0415 - loads shapely
    from stash.quilt.finishing import FinishingWish, Grain  # noqa: PLC0415

    if words["binding"] not in tuple(BindingFold):
        raise PlanError(f"Binding is double or single, not “{words['binding']}”.")
    if words["grain"] and words["grain"] not in tuple(Grain):
        raise PlanError(f"Binding is cut on the straight or the bias, not “{words['grain']}”.")
    given = {key: value for key, value in lengths.items() if value is not None}
    return FinishingWish(
        fold=BindingFold(str(words["binding"])),
        grain=Grain(str(words["grain"])) if words["grain"] else None,
        diagonal_joins=bool(words["diagonal"]),
        **given,
    )


def _edge(finished: str, scallops: int, scallop: str, unit: str) -> Edge:
    from stash.quilt.edges import arc_length  # noqa: PLC0415
    from stash.quilt.finishing import Edge  # noqa: PLC0415 - loads shapely

    width_in, length_in = _two(finished, unit, "a finished size such as 60x72")
    if not scallops and not scallop:
        return Edge.straight(width_in, length_in)
    if scallops < 1 or not scallop:
        raise PlanError("Give both the number of scallops and the size of one, e.g. 6x1.5.")
    chord_in, depth_in = _two(scallop, unit, "the width and depth of a scallop such as 6x1.5")
    edge_in = scallops * arc_length(chord_in, depth_in)
    return Edge(width_in, length_in, edge_in, curved=True, inner_corners=scallops)


def _two(text: str, unit: str, what: str) -> tuple[float, float]:
    parts = re.split(r"[x×*]", text.lower())
    if len(parts) != 2:
        raise PlanError(f"“{text}” is not {what}.")
    return parse_length(parts[0], unit=unit), parse_length(parts[1], unit=unit)
