"""Draw a quilt: its picture and the chart for the sewing machine."""

from __future__ import annotations

import io
from shlex import quote

from stash.drawing.layout_chart import layout_chart
from stash.drawing.paper import paper_named
from stash.drawing.quilt_picture import PictureOf, hung, quilt_image
from stash.errors import FileMissingError, PlanError
from stash.quilt.pattern import Pattern
from stash.quilt.plan import Quilt
from stash.usecases.ports import Store

__all__ = ["chart_of", "check_laid_out", "picture_of_quilt", "pictures_of"]

_FORMATS = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG", ".webp": "WEBP"}


def picture_of_quilt(store: Store, quilt: Quilt, pattern: Pattern, *, suffix: str) -> bytes:
    """Draw the quilt hanging on a wall; raises PlanError for an unknown kind of file."""
    kind = _FORMATS.get(suffix.lower())
    if kind is None:
        known = ", ".join(_FORMATS)
        raise PlanError(f"I cannot write a picture as “{suffix}”; end the file in {known}.")
    out = io.BytesIO()
    hung(quilt_image(quilt, pattern, pictures_of(store))).save(out, kind, quality=90)
    return out.getvalue()


def chart_of(
    store: Store, quilt: Quilt, pattern: Pattern, *, paper: str, unit: str = "in"
) -> bytes:
    """Write the chart as PDF; raises PlanError before the quilt is laid out."""
    check_laid_out(quilt)
    bins = {scrap.number: scrap.place for scrap in store.scraps()}
    return layout_chart(
        quilt, pattern, paper_named(paper), picture_of=pictures_of(store), bins=bins, unit=unit
    )


def check_laid_out(quilt: Quilt) -> None:
    """Raise PlanError if the pieces have no places yet."""
    if not quilt.piece_at:
        raise PlanError(
            f"“{quilt.name}” is not laid out yet.",
            at_terminal=f"First: stash quilt layout {quote(quilt.name)}.",
        )


def pictures_of(store: Store) -> PictureOf:
    """Give a function that finds a scrap's picture; empty when its file is gone."""

    def picture_of(sha256: str) -> bytes:
        """Read a swatch; nothing where its file is missing, so that the rest is drawn."""
        try:
            return store.picture(sha256)
        except FileMissingError:
            return b""

    return picture_of
