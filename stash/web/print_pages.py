"""What goes to the printer: labels for bins, templates, cutting and sewing sheets."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stash.drawing.paper import A4, LETTER
from stash.drawing.template_sheet import template_pdf
from stash.errors import PlanError
from stash.usecases.plan_quilt import quilt_named, quilts
from stash.usecases.print_sheets import (
    bin_labels,
    cut_list,
    cut_sheets,
    label_sheet,
    sewing_sheet,
    top_of_quilt,
)
from stash.web.desk import Desk, Page
from stash.web.match_pages import shapes_of, template_named
from stash.web.papers import asked_paper, paper_of, pdf_response

__all__ = ["PAGES"]

_LAYERS = 6  # what a rotary cutter goes through cleanly; the command's own default
_MOST_BINS = 400


def _choose(desk: Desk, request: Request) -> Response:
    store = desk.store
    held = any(scrap.place for scrap in store.scraps())
    values = {
        "labels": bin_labels(store, unit=desk.settings.unit)[:_MOST_BINS] if held else (),
        "quilts": quilts(store),
        "shapes": shapes_of(store),
        "papers": sorted((A4, LETTER), key=lambda one: one.name != paper_of(request, desk)),
    }
    return desk.page(request, "print.html", values)


def _labels(desk: Desk, request: Request) -> Response:
    bins = request.query_params.getlist("bin")[:_MOST_BINS]
    labels = bin_labels(desk.store, bins, unit=desk.settings.unit)
    if not labels:
        raise PlanError("No scrap lies in a bin yet. Note the bins first, then print labels.")
    return pdf_response(request, label_sheet(labels, asked_paper(request, desk)), "bin labels")


def _template(desk: Desk, request: Request) -> Response:
    shape = request.query_params.get("shape", "")
    size = desk.meant(request.query_params.get("size", ""))
    template = template_named(desk.store, shape, size)
    return pdf_response(
        request, template_pdf([template], asked_paper(request, desk)), f"{shape} {size}"
    )


def _cutting(desk: Desk, request: Request) -> Response:
    name = request.query_params.get("quilt", "")
    cuts = cut_list(desk.store, quilt_named(desk.store, name).name, layers=_LAYERS)
    return pdf_response(request, cut_sheets(cuts, asked_paper(request, desk)), f"{name} cutting")


def _sewing(desk: Desk, request: Request) -> Response:
    name = request.query_params.get("quilt", "")
    return pdf_response(
        request,
        sewing_sheet(top_of_quilt(desk.store, name), asked_paper(request, desk)),
        f"{name} sewing",
    )


def _papers(desk: Desk, request: Request) -> Response:
    """Send all papers of a quilt as one document."""
    from stash.usecases.quilt_papers import PapersWish, quilt_papers  # noqa: PLC0415 - PDF library

    name = request.query_params.get("quilt", "")
    wish = PapersWish(asked_paper(request, desk), desk.settings.unit)
    return pdf_response(request, quilt_papers(desk.store, name, wish).pdf, f"{name} papers")


PAGES = (
    Page("/print/papers.pdf", look=_papers),
    Page("/print", look=_choose),
    Page("/print/labels.pdf", look=_labels),
    Page("/print/template.pdf", look=_template),
    Page("/print/cutting.pdf", look=_cutting),
    Page("/print/sewing.pdf", look=_sewing),
)
