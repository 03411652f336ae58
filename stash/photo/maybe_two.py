"""Outlines that may hold two scraps: of one cloth, and touching without a seam to be seen."""

from __future__ import annotations

from stash.photo.table.seam_chords import seam_chords
from stash.shape.plane.outline import Outline

__all__ = ["two_note"]


def two_note(outline: Outline) -> str:
    """Say that an outline may be two scraps by its shape; empty if no chord parts it so."""
    if not any(True for _ in seam_chords(outline.polygon)):
        return ""
    return "may be two scraps that touch: if so, lay them apart and take the photo again"
