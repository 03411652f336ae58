"""What loose corner markers and further cards do for a photo: a truer plane, and no cloth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

from stash.colour.spaces import FloatArray
from stash.photo.cards.card import FoundCard
from stash.photo.cards.corner_marker import (
    CHECK_LINE_IN,
    CornerMarker,
    LoosePrint,
    find_corner_markers,
    paper_outline_px,
)
from stash.photo.files.reading import PixelsU8
from stash.photo.inches.further_cards import (
    check_sizes,
    names_of_cards,
    notes_on_cards,
    shape_of_card,
)
from stash.photo.inches.known_shapes import KnownShape
from stash.photo.inches.levelling import Levelled, level
from stash.photo.inches.plane import Plane
from stash.photo.table.segmentation import Segmentation

__all__ = ["LooseCorners", "level_by_corners"]

_MARKERS = "corner markers"
_FOUND_PX = 0.12  # how truly a corner is found where two long sides meet ...
_LIES_IN = 0.0035  # ... and how truly paper lies and a printer draws
_STRETCH = 0.003  # length against width of a home print, common practice, no source
_RIM = 1.35  # of the paper: what lies within it and touches it was left on by the scissors
_TOUCHES_IN = 0.1


@dataclass(frozen=True, eq=False)
class LooseCorners:
    """The table levelled by loose corner markers and further cards.

    Attributes
    ----------
    plane : Plane
        The plane given when there is nothing that can be used.
    papers_px : tuple of float64 arrays (4, 2)
        Outlines of the markers' papers in the photo.
    notes : tuple of str
        What a quilter should know, one sentence or two each.
    """

    plane: Plane
    papers_px: tuple[FloatArray, ...] = ()
    notes: tuple[str, ...] = ()

    def without_paper(self, found: Segmentation) -> tuple[Segmentation, tuple[str, ...]]:
        """Take leftover rims of paper out of what was found; tell scraps that touch a marker."""
        if not self.papers_px:
            return found, ()
        papers = [Polygon(outline) for outline in self.papers_px]
        rims = [affinity.scale(paper, _RIM, _RIM) for paper in papers]
        near_px = _TOUCHES_IN * self.plane.px_per_in(np.zeros(2))
        kept, touching = [], 0
        for region in found.regions:
            shape = Polygon(region.rings_px[0]).buffer(0)
            touched = [
                index for index, paper in enumerate(papers) if paper.distance(shape) < near_px
            ]
            if any(rims[index].contains(shape) for index in touched):
                continue
            kept.append(region)
            touching += bool(touched)
        return replace(found, regions=tuple(kept)), _touching(touching)


def level_by_corners(
    pixels: PixelsU8, plane: Plane, printed: LoosePrint, cards: Sequence[FoundCard] = ()
) -> LooseCorners:
    """Find the loose corner markers of a photo; fit the plane to them and to further cards too.

    Parameters
    ----------
    pixels : uint8, shape (height, width, 3)
        The photo at full size.
    plane : Plane
        Fitted to the card.
    printed : LoosePrint
        How large the markers were printed.
    cards : sequence of FoundCard
        All cards of the photo; the plane was fitted to the first.

    Raises
    ------
    CardsDisagreeError
        If two charts are of different size.
    """
    markers = find_corner_markers(pixels)
    shapes = [_shape(marker, printed) for marker in markers]
    shapes += [shape_of_card(card) for card in cards[1:]]
    if not shapes:
        return LooseCorners(plane)
    levelled = level(plane, tuple(shapes))
    check_sizes(levelled, cards)
    papers = tuple(paper_outline_px(marker) for marker in markers)
    return LooseCorners(levelled.plane, papers, _notes(levelled, printed))


def _shape(marker: CornerMarker, printed: LoosePrint) -> KnownShape:
    sides_px = np.hypot(*(np.roll(marker.corners_px, -1, axis=0) - marker.corners_px).T)
    found_in = _FOUND_PX * printed.side_in / float(sides_px.mean())
    return KnownShape(
        marker.corners_px,
        printed.corners_in,
        float(np.hypot(found_in, _LIES_IN)),
        _MARKERS,
        printed.spread,
        _STRETCH,
        str(marker.number),
    )


def _notes(levelled: Levelled, printed: LoosePrint) -> tuple[str, ...]:
    left_out = (*_astray(levelled), *_misprinted(levelled, printed), *notes_on_cards(levelled))
    return (*_used(levelled), *left_out)


def _used(levelled: Levelled) -> list[str]:
    markers = sum(shape.print_name == _MARKERS for shape in levelled.used)
    what = "marker" if markers == 1 else "markers"
    named = [names_of_cards(levelled), f"{markers} loose corner {what}" if markers else ""]
    by = " and ".join(name for name in named if name)
    return [f"The table was levelled by {by}."] if by else []


def _astray(levelled: Levelled) -> list[str]:
    markers = [shape for shape in levelled.astray if shape.print_name == _MARKERS]
    if not markers:
        return []
    names = ", ".join(shape.name for shape in markers)
    what, fits = ("marker", "fits") if len(markers) == 1 else ("markers", "fit")
    return [
        f"Corner {what} {names} {fits} neither the card nor the other markers and was left "
        "out: it may be curled, lie on something, or come from another print."
    ]


def _misprinted(levelled: Levelled, printed: LoosePrint) -> list[str]:
    sizes = [times for shape, times in levelled.misprinted if shape.print_name == _MARKERS]
    if not sizes:
        return []
    line_in = sizes[0] * CHECK_LINE_IN * printed.side_in / LoosePrint().side_in
    return [
        f"The loose corner markers were left out: beside the card their check line would be "
        f"{line_in:.2f} in, not what was stated. Measure the line with a ruler and state "
        "its length; if it is right, the card's own size is registered wrongly."
    ]


def _touching(count: int) -> tuple[str, ...]:
    if not count:
        return ()
    what, its = (
        ("A scrap touches", "Its outline") if count == 1 else (f"{count} scraps touch", "Outlines")
    )
    return (
        f"{what} a loose corner marker or lies under one. {its} may lack a part: move the marker "
        "away and take the photo again.",
    )
