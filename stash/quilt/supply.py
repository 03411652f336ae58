"""What the stash can give to a quilt, and what the quilt wants of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stash.colour.spaces import Lab
from stash.quilt.one_cloth import ALL_DECIDED, Undecided

__all__ = ["Share", "Supply", "Wish"]

_ROUNDING = 1e-9  # a share of exactly 12 pieces must not become 11.999...


@dataclass(frozen=True, slots=True)
class Supply:
    """A scrap that gives at least one piece of the template.

    Attributes
    ----------
    scrap, fabric : int
        Numbers in the stash.
    pieces : int
        Pieces the scrap gives, proven by a layout.
    area_sq_in : float
        Area of the scrap, square inches; the smallest usable scrap is cut first.
    lab : Lab
        The reads-as colour, CIELAB, white D65.
    family, value : str
        Colour family and value class: ``light``, ``medium``, ``dark``.
    amount : str
        Name of the palette entry it fills; empty when the palette has no amounts.
    reluctance : float
        0 for a fabric that belongs; more for one that should be taken only when needed.
    held_by : str
        Name of another quilt that has reserved it; empty when free.
    """

    scrap: int
    fabric: int
    pieces: int
    area_sq_in: float
    lab: Lab
    family: str = ""
    value: str = ""
    amount: str = ""
    reluctance: float = 0.0
    held_by: str = ""

    def has(self, share: Share) -> bool:
        """Whether the scrap counts towards a share."""
        return bool(getattr(self, share.by) == share.name)


@dataclass(frozen=True, slots=True)
class Share:
    """How much of a quilt one part of the palette may cover.

    Attributes
    ----------
    by : str
        The field of `Supply` the share speaks of: ``amount``, ``family`` or ``value``.
    name : str
        The part, e.g. ``teal`` or ``dark``.
    least, most : float
        Limits as shares of all pieces, 0..1.
    usual : float or None
        Where between them it should lie if nothing speaks against it.
    """

    by: str
    name: str
    least: float = 0.0
    most: float = 1.0
    usual: float | None = None

    def least_of(self, pieces: int) -> int:
        """Give the fewest pieces allowed in a quilt of so many, rounded in the quilter's favour.

        A part that is wanted never rounds away: at least one piece.
        """
        fewest = math.floor(self.least * pieces + _ROUNDING)
        return max(1, fewest) if self.least > 0 else fewest

    def most_of(self, pieces: int) -> int:
        """Give the most pieces allowed in a quilt of so many, rounded in the quilter's favour."""
        return math.ceil(self.most * pieces - _ROUNDING)


@dataclass(frozen=True, slots=True)
class Wish:
    """What a quilt asks for.

    Attributes
    ----------
    pieces : int
        Pieces to cut.
    limit : int or None
        Most pieces of one fabric; 1 is the charm rule, None is no limit.
    shares : tuple of Share
        How much of each part of the palette.
    undecided : Undecided
        Fabrics that may be one cloth: the limit holds for them together.
    done : tuple of Supply
        Pieces that are cut already, ``pieces`` of each: they count towards all of it and stay.
    many_fabrics : bool
        Whether as many different fabrics are to be used as there are.
    surely : tuple of int
        Fabrics of which a piece at least is wanted.
    hopes : tuple of Share
        Kept too where that is possible; a quilt can be made without.
    """

    pieces: int
    limit: int | None = None
    shares: tuple[Share, ...] = ()
    undecided: Undecided = ALL_DECIDED
    done: tuple[Supply, ...] = ()
    many_fabrics: bool = False
    surely: tuple[int, ...] = ()
    hopes: tuple[Share, ...] = ()

    @property
    def surely_yet(self) -> frozenset[int]:
        """Fabrics of which a piece at least is wanted and none is cut."""
        return frozenset(self.surely) - {one.fabric for one in self.done}

    @property
    def done_pieces(self) -> int:
        """Pieces that are cut."""
        return sum(one.pieces for one in self.done)

    @property
    def to_choose(self) -> int:
        """Pieces that have yet to be found."""
        return max(0, self.pieces - self.done_pieces)

    def done_of(self, share: Share) -> int:
        """Count the cut pieces that count towards a share."""
        return sum(one.pieces for one in self.done if one.has(share))

    def limits_of(self, share: Share) -> tuple[int, int]:
        """Give the fewest and most pieces of a share that may yet be chosen.

        What is cut cannot be taken back: where it goes beyond the share, no more is added.
        """
        done = self.done_of(share)
        least, most = share.least_of(self.pieces), share.most_of(self.pieces)
        return max(0, least - done), max(0, most - done)
