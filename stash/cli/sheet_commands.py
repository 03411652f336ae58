"""Sheets for the cutting table and the sewing machine."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

from stash.cli.finishing_commands import finishing
from stash.cli.messages import print_json, say
from stash.cli.options import Home, Json, MaybeQuilt, OutFile, PaperName, QuiltName, Seam
from stash.cli.sheet_files import paper_of, write_sheet
from stash.errors import PlanError, TemplateError
from stash.units import parse_length
from stash.usecases.user_files import write_beside

if TYPE_CHECKING:
    from stash.quilt.quilting_lines import LineStyle
    from stash.usecases.print_sheets import Top

__all__ = ["register_quilt", "register_template"]

ShapeName = Annotated[str, typer.Option("--template", help="Instead of a quilt: a shape.")]
ShapeSize = Annotated[
    Optional[str],  # noqa: UP045
    typer.Option("--size", help="Its finished size, e.g. 4, 4 1/2 or 2x4."),
]
SettingName = Annotated[str, typer.Option("--setting", help="How the shape is set.")]


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
    """Print a template at true size. With cut line, seam line, grain, notches, check squares."""
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
    file = write_sheet(out, name, paper, template_pdf(chosen, paper_of(paper)))
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
    """Where to lay the template on every scrap.

    Also which scraps to stack and how wide to cut strips.
    """
    from stash.cli.sheet_answers import cut_record, say_cuts  # noqa: PLC0415
    from stash.usecases.print_sheets import cut_list, cut_sheets  # noqa: PLC0415
    from stash.wiring import open_store  # noqa: PLC0415

    cuts = cut_list(open_store(home, must_exist=True), name, layers=layers)
    file = write_sheet(out, f"{name}-cutting", paper, cut_sheets(cuts, paper_of(paper)))
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
    """In which order to sew. Also which piece lies on top and where every seam is pressed."""
    from stash.cli.sheet_answers import say_sewing, sewing_record  # noqa: PLC0415
    from stash.usecases.print_sheets import sewing_of, sewing_sheet  # noqa: PLC0415

    top = _top(home, name, template, size, setting, seam)
    plan = sewing_of(top)
    file = write_sheet(
        out, f"{name or top.template.name}-sewing", paper, sewing_sheet(top, paper_of(paper))
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
    """Quilting lines without lifting the needle. How long, how many passes, a stencil."""
    from stash.cli.sheet_answers import guide_record, guide_sentence  # noqa: PLC0415
    from stash.usecases.print_sheets import guide_of, stencil_sheet  # noqa: PLC0415

    top = _top(home, name, template, size, setting, seam)
    lines = guide_of(top, _style(style), parse_length(depth))
    file = write_sheet(
        out,
        f"{name or top.template.name}-quilting",
        paper,
        stencil_sheet(top, lines, paper_of(paper)),
    )
    if svg is not None:
        write_beside(svg, stencil_sheet(top, lines, None))
    if as_json:
        print_json({"file": str(file), "svg": str(svg) if svg else None, **guide_record(lines)})
        return
    say(f"{guide_sentence(lines)}.")
    say(f"Stencil: {file}")


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
