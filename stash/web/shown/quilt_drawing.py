"""A quilt top laid out for an SVG: inches, y growing downwards, cloth in every piece."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from stash.colour.spaces import hex_of_lab
from stash.quilt.pattern import Pattern
from stash.quilt.plan import Quilt, QuiltPiece
from stash.web.shown.tiles import Tile

__all__ = ["Patchwork", "QuiltDrawing"]

_GOLDEN = 0.6180339887


@dataclass(frozen=True, slots=True)
class Patchwork:
    """One piece as drawn.

    Attributes
    ----------
    place : str
        Row and piece, such as ``3.12``.
    points : str
        The finished outline for an SVG polygon.
    x, y : float
        Its middle.
    fill : str
        Its reads-as colour; empty before the quilt is allotted.
    scrap : int
        0 before the quilt is allotted.
    fabric : int
        0 before the quilt is allotted.
    called : str
        What lies there, for those who do not see it.
    hope : str
        A colour of the palette where no scrap is chosen yet; empty without a palette.
    """

    place: str
    points: str
    x: float
    y: float
    fill: str
    scrap: int
    pinned: bool
    cut: bool
    fabric: int
    called: str
    hope: str


@dataclass(frozen=True)
class QuiltDrawing:
    """The quilt with its pattern, the tiles of the scraps it is cut from, its palette's colours."""

    quilt: Quilt
    pattern: Pattern
    tiles: Mapping[int, Tile]
    hopes: Sequence[str] = ()

    @property
    def view_box(self) -> str:
        """The whole top with a little air."""
        air = 0.02 * max(self.pattern.size_in)
        left, top = self._corner
        wide, high = self.pattern.width_in + 2 * air, self.pattern.length_in + 2 * air
        return f"{left - air:.3f} {top - air:.3f} {wide:.3f} {high:.3f}"

    @cached_property
    def _corner(self) -> tuple[float, float]:
        points = [point for place in self.pattern.places for point in place.outline]
        return min(x for x, _ in points), -max(y for _, y in points)

    @cached_property
    def pieces(self) -> list[Patchwork]:
        """Every piece in its place, by row and number."""
        return [self._piece(index) for index in range(len(self.pattern.places))]

    @property
    def cloths(self) -> list[tuple[int, str]]:
        """Scraps whose picture fills pieces, each with its tile's version."""
        used = {piece.scrap for piece in self.quilt.pieces}
        return [
            (number, self.tiles[number].version)
            for number in sorted(used)
            if number in self.tiles and self.tiles[number].version
        ]

    def _piece(self, index: int) -> Patchwork:
        place = self.pattern.places[index]
        centre = self.pattern.centres_in[index]
        piece = self._in_place(index)
        return Patchwork(
            place=place.name,
            points=" ".join(f"{x:.3f},{-y:.3f}" for x, y in place.outline),
            x=round(float(centre[0]), 3),
            y=round(-float(centre[1]), 3),
            fill=hex_of_lab(piece.lab) if piece and not piece.to_find else "",
            scrap=piece.scrap if piece else 0,
            pinned=place.name in self.quilt.pinned,
            cut=bool(piece and piece.cut),
            fabric=piece.fabric if piece else 0,
            called=self._called(piece),
            hope="" if piece and not piece.to_find else self._hope(index),
        )

    def _hope(self, index: int) -> str:
        """Spread the palette's colours: steps of the golden section come round evenly."""
        turn = (index + 0.5) * _GOLDEN % 1
        return self.hopes[int(turn * len(self.hopes))] if self.hopes else ""

    def _in_place(self, index: int) -> QuiltPiece | None:
        if not self.quilt.piece_at:
            return None
        return self.quilt.pieces[self.quilt.piece_at[index]]

    def _called(self, piece: QuiltPiece | None) -> str:
        if piece is None:
            return "no piece yet"
        if piece.to_find:
            return "a piece still to be found"
        tile = self.tiles.get(piece.scrap)
        name = tile.name if tile else f"{piece.value} {piece.family}"
        return f"{name} from scrap {piece.scrap}"
