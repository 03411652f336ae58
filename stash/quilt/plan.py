"""A quilt as it is planned, allotted, laid out and cut, and its record as JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any, Self

from stash.colour.spaces import Lab
from stash.errors import PlanError

if TYPE_CHECKING:
    from stash.shape.plane.outline import Ring

__all__ = ["CropPlace", "HeldCloth", "Plan", "Quilt", "QuiltPiece"]


@dataclass(frozen=True, slots=True)
class Plan:
    """What the quilter wants.

    Attributes
    ----------
    template, size : str
        Family of the library and finished size, as given.
    setting : str
        Name of the setting.
    straight : bool
        Whether the edge is trimmed or filled up to straight lines.
    rows, across : int
        Rows, and pieces per row.
    palette : str
        Name of the palette; empty when every fabric is welcome.
    limit : int or None
        Most pieces of one fabric; 1 is the charm rule; None takes as many fabrics as it can.
    seam_allowance_in : float
        On every edge.
    grain_tolerance_deg : float or None
        How far a piece may lie off the grain; None lets it lie anyhow.
    shrink_share : float
        What unwashed scraps are taken to lose in the wash, each way.
    borderline : bool
        Whether fabrics to look at twice may be taken when those that belong run out.
    values : mapping
        Wanted shares of light, medium and dark pieces; empty when left open.
    surely, never : tuple of int
        Fabrics that must be in it, and that must not.
    kinds, bins, tones : tuple of str
        Only these kinds of print, bins and values are taken; all where empty.
    amounts : mapping
        Least and most of a palette part as shares 0..1, in place of what its amount means.
    many_fabrics : bool or None
        As many different fabrics as there are; None does so where there is no limit.
    scraps_first : bool
        Whether yardage is cut only where scraps run out.
    reserve_rows : int
        For so many rows more, fabrics of the same colours are held back.
    frame : str
        Part of the palette, colour family or value that lies along the edge; empty for none.
    """

    template: str
    size: str
    setting: str
    straight: bool
    rows: int
    across: int
    palette: str = ""
    limit: int | None = None
    seam_allowance_in: float = 0.25
    grain_tolerance_deg: float | None = None
    shrink_share: float = 0.03
    borderline: bool = False
    values: Mapping[str, float] | None = None
    surely: tuple[int, ...] = ()
    never: tuple[int, ...] = ()
    kinds: tuple[str, ...] = ()
    bins: tuple[str, ...] = ()
    tones: tuple[str, ...] = ()
    amounts: Mapping[str, tuple[float, float]] | None = None
    many_fabrics: bool | None = None
    scraps_first: bool = False
    reserve_rows: int = 0
    frame: str = ""

    @property
    def uses_many(self) -> bool:
        """Whether as many different fabrics are used as there are."""
        return self.limit is None if self.many_fabrics is None else self.many_fabrics

    def cuts_alike(self, other: Plan) -> bool:
        """Whether pieces cut for one of two plans are those of the other."""
        return _how_cut(self) == _how_cut(other)


@dataclass(frozen=True, slots=True)
class CropPlace:
    """Where a piece lies on its scrap's picture: the cut, in the scrap's own inches.

    Attributes
    ----------
    x, y, angle_deg : float
        Where the template's origin lies and how it is turned, as in the fit.
    growth : float
        How much larger the piece is drawn on the unwashed scrap (1 when washed).
    picture : str
        Name of the scrap's picture; empty when there is none.
    px_per_in, left_in, top_in : float
        Its scale and the inches of its upper left corner.
    """

    x: float
    y: float
    angle_deg: float
    growth: float = 1.0
    picture: str = ""
    px_per_in: float = 0.0
    left_in: float = 0.0
    top_in: float = 0.0


@dataclass(frozen=True, slots=True)
class QuiltPiece:
    """One piece: what it is cut from, what it looks like, and whether it is cut.

    Attributes
    ----------
    scrap, fabric : int
        Numbers in the stash; the fabric stays when the scrap is cut up.
    lab : Lab
        Reads-as colour, CIELAB, white D65.
    family, value, amount, kind : str
        Classes the layout spreads, and the kind of print.
    stripe_deg : float or None
        Direction of the stripes on the piece, counter-clockwise from the template's x axis.
    crop : CropPlace or None
        Where it lies on the scrap.
    other_crop, other_stripe_deg : CropPlace or None, float or None
        For stripes: where it lies when they are to run the other way.
    cut : bool
        Whether the scissors have been there.
    """

    scrap: int
    fabric: int
    lab: Lab
    family: str
    value: str
    amount: str = ""
    kind: str = ""
    stripe_deg: float | None = None
    crop: CropPlace | None = None
    other_crop: CropPlace | None = None
    other_stripe_deg: float | None = None
    cut: bool = False

    @property
    def to_find(self) -> bool:
        """Whether no scrap is chosen for it: its row was added, or it was spoilt."""
        return not self.scrap and not self.cut


@dataclass(frozen=True, slots=True)
class HeldCloth:
    """Cloth of one scrap for a binding, a border or a backing.

    Attributes
    ----------
    use : str
        What it is for.
    scrap, fabric : int
        Numbers in the stash.
    rings : tuple of Ring
        The strips or lengths, in the scrap's own inches.
    lengths_in : tuple of float
        How long each is at the size it is cut at.
    width_in : float
        How wide each is cut.
    cut : bool
        Whether the scissors have been there.
    """

    use: str
    scrap: int
    fabric: int
    rings: tuple[Ring, ...]
    lengths_in: tuple[float, ...]
    width_in: float
    cut: bool = False


@dataclass(frozen=True)
class Quilt:
    """A quilt with all that has been decided about it.

    Attributes
    ----------
    name : str
        What the quilter calls it.
    plan : Plan
        What is wanted.
    pieces : tuple of QuiltPiece
        The pieces, once allotted.
    gap : float
        How far the allotment may lie from the best, as a share.
    piece_at : tuple of int
        The piece in every place of the pattern, once laid out.
    pinned : tuple of str
        Names of the places whose piece stays, e.g. ``3.12``.
    seed : int
        Seed of the layout.
    set_aside : bool
        Whether it rests; then it holds no scrap.
    reserve : tuple of QuiltPiece
        Held back for rows that may be added, not part of the quilt.
    spare : tuple of QuiltPiece
        Cut, but in no place of the quilt.
    spoilt : tuple of QuiltPiece
        Cut and lost.
    sewn : tuple of str
        Names of the places that are sewn.
    cloth : tuple of HeldCloth
        Held for its binding, border and backing.
    border_in : float
        Finished width of its border; 0 where it has none.
    """

    name: str
    plan: Plan
    pieces: tuple[QuiltPiece, ...] = ()
    gap: float = 0.0
    piece_at: tuple[int, ...] = ()
    pinned: tuple[str, ...] = ()
    seed: int = 0
    set_aside: bool = False
    reserve: tuple[QuiltPiece, ...] = ()
    spare: tuple[QuiltPiece, ...] = ()
    spoilt: tuple[QuiltPiece, ...] = ()
    sewn: tuple[str, ...] = ()
    cloth: tuple[HeldCloth, ...] = ()
    border_in: float = 0.0

    @property
    def held_cloth(self) -> tuple[HeldCloth, ...]:
        """Cloth for its edge and back that still lies on scraps and is this quilt's."""
        return () if self.set_aside else tuple(one for one in self.cloth if not one.cut)

    @property
    def held_pieces(self) -> tuple[QuiltPiece, ...]:
        """Pieces that still lie on scraps and are this quilt's."""
        if self.set_aside:
            return ()
        return tuple(one for one in (*self.pieces, *self.reserve) if not one.cut and one.scrap)

    @property
    def held_scraps(self) -> frozenset[int]:
        """Scraps that still have pieces to give to this quilt."""
        return frozenset(piece.scrap for piece in self.held_pieces)

    @property
    def cut_pieces(self) -> tuple[QuiltPiece, ...]:
        """Pieces that are cut, those without a place too."""
        return (*(piece for piece in self.pieces if piece.cut), *self.spare)

    @property
    def cut_count(self) -> int:
        """Pieces that are cut."""
        return sum(piece.cut for piece in self.pieces)

    def to_cut_of(self, scrap: int) -> tuple[int, ...]:
        """Give the numbers of the pieces still to be cut from a scrap."""
        return tuple(
            number
            for number, piece in enumerate(self.pieces)
            if piece.scrap == scrap and not piece.cut
        )

    def with_cut(self, numbers: Sequence[int]) -> Quilt:
        """Give the quilt with some pieces cut."""
        chosen = set(numbers)
        pieces = tuple(
            replace(piece, cut=piece.cut or number in chosen)
            for number, piece in enumerate(self.pieces)
        )
        return replace(self, pieces=pieces)

    def count_by(self, field: str) -> Mapping[str, int]:
        """Count the pieces by a field such as ``family``, most first."""
        return dict(Counter(str(getattr(piece, field)) for piece in self.pieces).most_common())

    def to_record(self) -> dict[str, object]:
        """Give the quilt as JSON can hold it."""
        return {
            "plan": asdict(self.plan),
            "pieces": [asdict(piece) for piece in self.pieces],
            "gap": self.gap,
            "piece_at": list(self.piece_at),
            "pinned": list(self.pinned),
            "seed": self.seed,
            "set_aside": self.set_aside,
            "reserve": [asdict(piece) for piece in self.reserve],
            "spare": [asdict(piece) for piece in self.spare],
            "spoilt": [asdict(piece) for piece in self.spoilt],
            "sewn": list(self.sewn),
            "cloth": [asdict(one) for one in self.cloth],
            "border_in": self.border_in,
        }

    @classmethod
    def of_record(cls, name: str, record: Mapping[str, Any]) -> Self:
        """Read what `to_record` gave.

        Raises
        ------
        PlanError
            If the record is not a quilt.
        """
        try:
            return cls(
                name,
                _plan(record["plan"]),
                tuple(_piece(piece) for piece in record["pieces"]),
                float(record["gap"]),
                tuple(record["piece_at"]),
                tuple(record["pinned"]),
                int(record["seed"]),
                bool(record["set_aside"]),
                reserve=tuple(_piece(piece) for piece in record.get("reserve", ())),
                spare=tuple(_piece(piece) for piece in record.get("spare", ())),
                spoilt=tuple(_piece(piece) for piece in record.get("spoilt", ())),
                sewn=tuple(record.get("sewn", ())),
                cloth=tuple(_cloth(one) for one in record.get("cloth", ())),
                border_in=float(record.get("border_in", 0.0)),
            )
        except (KeyError, TypeError, ValueError) as problem:
            raise PlanError(
                f"The record of the quilt “{name}” cannot be read; make the quilt again."
            ) from problem


def _plan(record: Mapping[str, Any]) -> Plan:
    lists = {
        name: tuple(record[name])
        for name in ("surely", "never", "kinds", "bins", "tones")
        if name in record
    }
    amounts = {name: (low, high) for name, (low, high) in (record.get("amounts") or {}).items()}
    return Plan(**{**record, **lists, "amounts": amounts or None})


def _how_cut(plan: Plan) -> tuple[object, ...]:
    tolerance = plan.grain_tolerance_deg
    return (plan.template, plan.size, plan.seam_allowance_in, tolerance, plan.shrink_share)


def _cloth(record: Mapping[str, Any]) -> HeldCloth:
    rings = tuple(tuple((float(x), float(y)) for x, y in ring) for ring in record["rings"])
    return HeldCloth(**{**record, "rings": rings, "lengths_in": tuple(record["lengths_in"])})


def _piece(record: Mapping[str, Any]) -> QuiltPiece:
    lightness, a, b = record["lab"]
    crops = {
        name: CropPlace(**record[name]) if record.get(name) else None
        for name in ("crop", "other_crop")
    }
    return QuiltPiece(**{**record, **crops, "lab": (lightness, a, b)})
