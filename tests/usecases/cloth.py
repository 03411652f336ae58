"""Cloth put straight into a stash: no photo, and no picture unless one is given."""

from __future__ import annotations

from dataclasses import replace

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.colour.spaces import lab_of_hex
from stash.scrap import Scrap
from stash.shape.plane.outline import Outline, Point, outline_of
from stash.usecases.ports import ScrapToLog, Store

NAVY, TEAL, SKY, CREAM, RED, PINK, VIOLET = (
    "#1f3f7a", "#2f8f8f", "#9cc3e0", "#f1e8d6", "#b0282f", "#e08fae", "#6a5acd",
)  # fmt: skip


def rectangle(
    width_in: float, height_in: float, *, at: Point = (0.0, 0.0), error_in: float = 0.0
) -> Outline:
    """An upright rectangle, its lower left corner at a point."""
    (x, y), right, top = at, at[0] + width_in, at[1] + height_in
    return outline_of([(x, y), (right, y), (right, top), (x, top)], error_in=error_in)


def look(
    colour: str, *, kind: PrintKind = PrintKind.PLAIN, direction_deg: float | None = None
) -> Appearance:
    """How cloth of one colour looks, sure to 1 CIEDE2000."""
    lab = lab_of_hex(colour)
    chroma = (lab[1] ** 2 + lab[2] ** 2) ** 0.5
    return Appearance(
        lab, (ColourShare(lab, 1.0),), kind,
        mean_chroma=chroma, direction_deg=direction_deg, error_de00=1.0,
    )  # fmt: skip


def put(
    store: Store,
    colour: str = NAVY,
    size: tuple[float, float] | Outline = (5.0, 5.0),
    *,
    fabric: int | None = None,
    washed: bool = True,
    place: str = "",
    kind: PrintKind = PrintKind.PLAIN,
    direction_deg: float | None = None,
    grain_deg: float | None = None,
    picture: bytes = b"",
) -> Scrap:
    """Keep one scrap; a new fabric unless one is named."""
    outline = size if isinstance(size, Outline) else rectangle(*size)
    left, _, _, top = outline.bounds
    scrap = store.add_scrap(
        ScrapToLog(
            outline, look(colour, kind=kind, direction_deg=direction_deg), picture_jpeg=picture,
            px_per_in=40.0 if picture else 0.0, left_in=left, top_in=top, fabric=fabric,
            place=place, washed=washed,
        ),
        why="put there by a test",
    )  # fmt: skip
    if grain_deg is None:
        return scrap
    store.change_scrap(replace(scrap, grain_deg=grain_deg), seen=scrap, why="grain")
    return store.scrap(scrap.number)


def seven_scraps(store: Store) -> None:
    """Put in seven scraps, of which other tests know by hand what they give.

    Scrap  fabric  colour  inches     finished squares it gives (1/4 in of seam all round)
    1      1       navy    9 x 9      8 1/2 at most; of 4 in (4 1/2 cut) four; in the bin "tin"
    2      1       navy    5 x 5      4 1/2; one; in the bin "drawer"
    3      2       teal    6 x 6      5 1/2; one
    4      3       violet  12 x 12    11 1/2; four
    5      4       red     12 x 12    11 1/2; four
    6      5       sky     4 1/4 sq.  unwashed: 4.1225 after 3 %, so 3.6225, told as 3 9/16
    7      6       cream   3 x 8      unwashed: 2.91, so 2.41, told as 2 3/8; stripes along y
    """
    first = put(store, NAVY, (9.0, 9.0), place="tin")
    put(store, NAVY, (5.0, 5.0), fabric=first.fabric, place="drawer")
    put(store, TEAL, (6.0, 6.0))
    put(store, VIOLET, (12.0, 12.0))
    put(store, RED, (12.0, 12.0))
    put(store, SKY, (4.25, 4.25), washed=False)
    kind = PrintKind.STRIPE
    put(store, CREAM, (3.0, 8.0), washed=False, kind=kind, direction_deg=90.0, grain_deg=0.0)
