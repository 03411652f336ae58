"""What goes to the printer: labels for bins, templates, cutting and sewing sheets."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response

from stash.drawing.paper import A4, LETTER, Paper, paper_named
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

__all__ = ["PAGES", "file_name"]

_LAYERS = 6  # what a rotary cutter goes through cleanly; the command's own default
_MOST_BINS = 400


def file_name(words: str) -> str:
    """Make a plain name for a download; only letters, digits and hyphens are kept.

    Examples
    --------
    >>> file_name("Lighthouse “raffle”/../x cutting")
    'lighthouse-raffle-x-cutting.pdf'
    """
    plain = re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")
    return f"{plain[:80] or 'sheet'}.pdf"


def _choose(desk: Desk, request: Request) -> Response:
    store = desk.store
    held = any(scrap.place for scrap in store.scraps())
    values = {
        "labels": bin_labels(store, unit=desk.settings.unit)[:_MOST_BINS] if held else (),
        "quilts": quilts(store),
        "shapes": shapes_of(store),
        "papers": (A4, LETTER) if desk.settings.unit == "cm" else (LETTER, A4),
    }
    return desk.page(request, "print.html", values)


def _labels(desk: Desk, request: Request) -> Response:
    bins = request.query_params.getlist("bin")[:_MOST_BINS]
    labels = bin_labels(desk.store, bins, unit=desk.settings.unit)
    if not labels:
        raise PlanError("No scrap lies in a bin yet. Note the bins first, then print labels.")
    return _pdf(label_sheet(labels, _paper(request)), "bin labels")


def _template(desk: Desk, request: Request) -> Response:
    shape = request.query_params.get("shape", "")
    size = desk.meant(request.query_params.get("size", ""))
    template = template_named(desk.store, shape, size)
    return _pdf(template_pdf([template], _paper(request)), f"{shape} {size}")


def _cutting(desk: Desk, request: Request) -> Response:
    name = request.query_params.get("quilt", "")
    cuts = cut_list(desk.store, quilt_named(desk.store, name).name, layers=_LAYERS)
    return _pdf(cut_sheets(cuts, _paper(request)), f"{name} cutting")


def _sewing(desk: Desk, request: Request) -> Response:
    name = request.query_params.get("quilt", "")
    return _pdf(sewing_sheet(top_of_quilt(desk.store, name), _paper(request)), f"{name} sewing")


def _paper(request: Request) -> Paper:
    return paper_named(request.query_params.get("paper", LETTER.name))


def _pdf(data: bytes, words: str) -> Response:
    headers = {
        "Content-Disposition": f'attachment; filename="{file_name(words)}"',
        "Cache-Control": "private, no-store",
    }
    return Response(data, media_type="application/pdf", headers=headers)


PAGES = (
    Page("/print", look=_choose),
    Page("/print/labels.pdf", look=_labels),
    Page("/print/template.pdf", look=_template),
    Page("/print/cutting.pdf", look=_cutting),
    Page("/print/sewing.pdf", look=_sewing),
)
