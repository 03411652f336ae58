"""Which cloth of the stash makes a quilt's binding, border or back; hold it and cut it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from stash.colour.appearance import WOVEN_KINDS
from stash.colour.naming import FAMILIES, value_limits
from stash.errors import PlanError
from stash.quilt.edge_cloth import (
    LEAST_STRIP_IN,
    ClothUse,
    Lengths,
    Panel,
    border_length,
    joined_length,
    panels_of,
    strips_to_reach,
)
from stash.quilt.finishing import Finishing, FinishingWish, StripGrain
from stash.quilt.plan import HeldCloth, Quilt
from stash.quilt.remainder import LEAST_IN, lies_on, remainders
from stash.scrap import Scrap, ScrapState
from stash.shape.plane.outline import Outline, Ring
from stash.shape.plane.strips import Strip, largest_rectangle, strips_along
from stash.usecases.matching.match_palette import judged_by
from stash.usecases.palettes.manage_palettes import palette_named
from stash.usecases.papers.print_sheets import finishing_of, top_of_quilt
from stash.usecases.pieces.grain import grain_of
from stash.usecases.pieces.piece_counts import usable_outline
from stash.usecases.pieces.usable_fabrics import usable_fabrics
from stash.usecases.ports import Store
from stash.usecases.quilts.plan_quilt import (
    held_on_scraps,
    keep_quilt,
    quilt_document,
    quilt_seen,
    quilts_seen,
)
from stash.usecases.quilts.quilt_cut import after_cutting, begun_of
from stash.usecases.quilts.quilt_stock import cut_rule, families_of_fabrics, growth_on
from stash.usecases.scraps.review_scraps import words_for_fabrics

__all__ = [
    "ClothAnswer",
    "ClothLine",
    "ClothWish",
    "cloth_for",
    "cut_cloth",
    "free_cloth",
    "hold_cloth",
]

_SEAM_IN = 0.25
_SLANTED_JOIN_IN = 2 * _SEAM_IN * 2**0.5  # as for bias strips cut one by one
_LEAST_FOR_BACK_SQ_IN = 144.0  # a back of less than square feet is a second top (judgement)
_BORDER_IN = 4.0  # common practice, no source


@dataclass(frozen=True, slots=True)
class ClothWish:
    """What cloth is asked for.

    Attributes
    ----------
    use : ClothUse
    finishing : FinishingWish
        Widths, fold, grain and allowances; the defaults are the published ones.
    border_in : float or None
        Finished width of the border; None takes the one that is held, or 4 in.
    family : str
        Only cloth of this colour family; all where empty.
    """

    use: ClothUse
    finishing: FinishingWish = field(default_factory=FinishingWish)
    border_in: float | None = None
    family: str = ""


@dataclass(frozen=True, slots=True)
class ClothLine:
    """What one fabric gives.

    Attributes
    ----------
    fabric : int
    name, family, value, verdict : str
        What it is called, its classes, and what the quilt's palette says of it.
    scraps : tuple of HeldCloth
        Where it is cut, the most first; for a backing one length of each.
    gives_in : float
        Length of all its strips joined, inches; for a backing the width of its panels.
    share : float
        Of what is needed; 1 or more is enough.
    panels : tuple of Panel
        A backing's panels.
    looks_turned : bool
        Bias strips of it look different from straight ones: it is striped or plaid.
    """

    fabric: int
    name: str
    family: str
    value: str
    verdict: str
    scraps: tuple[HeldCloth, ...]
    gives_in: float
    share: float
    panels: tuple[Panel, ...] = ()
    looks_turned: bool = False

    @property
    def enough(self) -> bool:
        """Whether this fabric alone will do."""
        return self.share >= 1 - 1e-9


@dataclass(frozen=True)
class ClothAnswer:
    """Cloth for one use, what will do first.

    Attributes
    ----------
    quilt : Quilt
    use : ClothUse
    finishing : Finishing
        The sizes it follows from.
    border_in : float
        Finished width of the border the sizes are with.
    needed_in : float
        Length of the strips joined; for a backing its width across the panels of one cloth.
    cut_in : float
        Width to cut a strip; 0 for a backing.
    bias : bool
        Whether strips are cut on the bias.
    lines : tuple of ClothLine
        By whether it is enough, by the palette, then by how much it gives.
    together : tuple of int
        Scraps of cloth that belongs which will do together, where no fabric alone does.
    held : tuple of HeldCloth
        What is held or cut for it.
    held_share : float
        Of what is needed.
    """

    quilt: Quilt
    use: ClothUse
    finishing: Finishing
    border_in: float
    needed_in: float
    cut_in: float
    bias: bool
    lines: tuple[ClothLine, ...]
    together: tuple[int, ...]
    held: tuple[HeldCloth, ...]
    held_share: float


def cloth_for(store: Store, name: str, wish: ClothWish) -> ClothAnswer:
    """Say which cloth makes a quilt's binding, border or back.

    What quilts hold of a scrap, this one too, is not offered; what is held for this use is.

    Raises
    ------
    NotFoundError
        If there is no such quilt.
    PlanError
        If a width or a colour family makes no sense, or the quilt has no straight part to border.
    """
    return _Asked(store, name, wish).answer()


def hold_cloth(store: Store, name: str, wish: ClothWish, scraps: Sequence[int]) -> ClothAnswer:
    """Hold cloth of some scraps, in that order, as far as it is needed; what was held is freed.

    Raises as `cloth_for`, and PlanError if a scrap gives none.
    """
    seen = quilts_seen(store)
    asked = _Asked(store, name, wish)
    answer = asked.answer()
    chosen = asked.chosen(list(dict.fromkeys(scraps)))
    kept = [one for one in asked.quilt.cloth if one.use != wish.use or one.cut]
    border_in = answer.border_in if wish.use is ClothUse.BORDER else asked.quilt.border_in
    quilt = replace(asked.quilt, cloth=(*kept, *chosen), border_in=border_in)
    keep_quilt(store, quilt, seen=seen, why=f"held cloth for the {wish.use} of {name}")
    return cloth_for(store, name, wish)


def free_cloth(store: Store, name: str, use: ClothUse) -> Quilt:
    """Free the cloth held for a use; what is cut stays. Without border cloth there is no border."""
    quilt, seen = quilt_seen(store, name)
    kept = tuple(one for one in quilt.cloth if one.use != use or one.cut)
    bordered = use is not ClothUse.BORDER or any(one.use == use for one in kept)
    changed = replace(quilt, cloth=kept, border_in=quilt.border_in if bordered else 0.0)
    keep_quilt(store, changed, seen=(seen,), why=f"freed the cloth for the {use} of {name}")
    return changed


def cut_cloth(store: Store, name: str, use: ClothUse) -> Quilt:
    """Record that the cloth held for a use is cut: it leaves the scraps, in one undoable change.

    Raises
    ------
    NotFoundError
        If there is no such quilt.
    PlanError
        If nothing is held for it, or a scrap is not as it was.
    """
    quilt, seen = quilt_seen(store, name)
    mine = [one for one in quilt.held_cloth if one.use == use]
    if not mine:
        raise PlanError(f"No cloth is held for the {use} of “{name}”; choose some first.")
    changed, begun = [], []
    others = held_on_scraps(store)
    for one in mine:
        scrap = store.scrap(one.scrap)
        if scrap.state is ScrapState.CUT_UP or not lies_on(scrap.outline, one.rings):
            raise PlanError(
                f"Scrap {one.scrap} is not as it was when cloth of it was held for the {use}. "
                "Choose its cloth again before cutting it."
            )
        beside = [ring for ring in others[one.scrap].pieces if ring not in one.rings]
        left = list(remainders(scrap.outline, one.rings, least_in=LEAST_IN))
        # What else is held must be found on the scrap of that number: that part keeps it.
        left.sort(key=lambda part: -sum(lies_on(part, [ring]) for ring in beside))
        changed.append((scrap, after_cutting(scrap, left)))
        begun += [begun_of(store, scrap, part) for part in left[1:]]
    done = replace(
        quilt, cloth=tuple(replace(one, cut=True) if one in mine else one for one in quilt.cloth)
    )
    store.keep_together(
        changed=changed,
        begun=begun,
        records=[(seen, quilt_document(done))],
        why=f"cut the {use} of the quilt {name}",
    )
    return done


class _Asked:
    """One question: sizes, and what every scrap gives."""

    def __init__(self, store: Store, name: str, wish: ClothWish) -> None:
        if wish.family and wish.family not in FAMILIES:
            raise PlanError(
                f"There is no colour family “{wish.family}”. There are: {', '.join(FAMILIES)}."
            )
        self.store, self.wish = store, wish
        self.quilt, _ = quilt_seen(store, name)
        held = self.quilt.border_in
        own = wish.border_in if wish.border_in is not None else held or _BORDER_IN
        self.border_in = own if wish.use is ClothUse.BORDER else held
        if not 0 < self.border_in <= 40 and wish.use is ClothUse.BORDER:
            raise PlanError("A border is more than nothing and at most 40 inches wide.")
        top = replace(top_of_quilt(store, name), border_in=self.border_in)
        self.finishing = finishing_of(top, wish.finishing)
        self.usable = usable_fabrics(store)
        self.row_of = {
            int(fabric): row for row, fabric in enumerate(self.usable.table.fabric.tolist())
        }
        palette = palette_named(store, self.quilt.plan.palette) if self.quilt.plan.palette else None
        self.grade = judged_by(store, palette).grade.tolist() if palette else [0] * len(self.row_of)
        self.families = families_of_fabrics(store)

    @property
    def bias(self) -> bool:
        """Say whether strips are cut on the bias."""
        return self.wish.use is ClothUse.BINDING and self.finishing.binding.grain is StripGrain.BIAS

    @property
    def cut_in(self) -> float:
        """Width a strip is cut at, inches; 0 for a back."""
        if self.wish.use is ClothUse.BINDING:
            return self.finishing.binding.cut_in
        return self.border_in + 2 * _SEAM_IN if self.wish.use is ClothUse.BORDER else 0.0

    @property
    def needed_in(self) -> float:
        """Length of strips wanted, inches; for a back its width."""
        edge = self.finishing.edge
        if self.wish.use is ClothUse.BINDING:
            return self.finishing.binding.length_in
        if self.wish.use is ClothUse.BACKING:
            return self.finishing.backing.width_in
        inner = (edge.width_in - 2 * self.border_in, edge.length_in - 2 * self.border_in)
        return border_length(*inner, self.border_in)

    @property
    def join_in(self) -> float:
        """Length each join of two strips takes, inches."""
        if self.bias:
            return _SLANTED_JOIN_IN
        slanted = self.wish.use is ClothUse.BINDING and self.wish.finishing.diagonal_joins
        return self.cut_in if slanted else 2 * _SEAM_IN

    def answer(self) -> ClothAnswer:
        """Work out what every fabric gives, and which do together."""
        by_fabric: dict[int, list[HeldCloth]] = {}
        for one in self._every():
            by_fabric.setdefault(one.fabric, []).append(one)
        names = words_for_fabrics(self.store)
        lines = [
            self._line(fabric, some, names.get(fabric, "")) for fabric, some in by_fabric.items()
        ]
        lines.sort(key=lambda one: (not one.enough, self._grade(one.fabric), -one.share))
        held = tuple(one for one in self.quilt.cloth if one.use == self.wish.use)
        return ClothAnswer(
            self.quilt,
            self.wish.use,
            self.finishing,
            self.border_in,
            self.needed_in,
            self.cut_in,
            self.bias,
            tuple(lines),
            () if lines and lines[0].enough else self._together(lines),
            held,
            self._share(held)[0] if held else 0.0,
        )

    def chosen(self, scraps: Sequence[int]) -> list[HeldCloth]:
        """Take of these scraps what is needed beside what is cut already."""
        offered = {one.scrap: one for one in self._every()}
        for number in scraps:
            self.store.scrap(number)  # raises where there is none
            if number not in offered:
                raise PlanError(f"Scrap {number} gives nothing to the {self.wish.use}.")
        cut = [one for one in self.quilt.cloth if one.use == self.wish.use and one.cut]
        taken: list[HeldCloth] = []
        for number in scraps:
            have = [length for one in (*cut, *taken) for length in one.lengths_in]
            if self._share([*cut, *taken])[0] >= 1:
                break
            one = offered[number]
            if self.wish.use is not ClothUse.BACKING:
                both = [*have, *one.lengths_in]
                count = max(1, strips_to_reach(both, self.needed_in, self.join_in) - len(have))
                one = replace(one, rings=one.rings[:count], lengths_in=one.lengths_in[:count])
            taken.append(one)
        return taken

    def _every(self) -> list[HeldCloth]:
        """Give what every scrap gives, as far as it is cloth of the family asked for."""
        free = {
            ring for one in self.quilt.held_cloth if one.use == self.wish.use for ring in one.rings
        }
        held = held_on_scraps(self.store)
        found = []
        for scrap in self.store.scraps():
            if scrap.state is ScrapState.CUT_UP or not self._may(scrap):
                continue
            taken = held[scrap.number].pieces if scrap.number in held else ()
            one = self._gives(scrap, [ring for ring in taken if ring not in free])
            if one is not None:
                found.append(one)
        return found

    def _may(self, scrap: Scrap) -> bool:
        row = self.row_of[scrap.fabric]
        if self.wish.family and self.families[row] != self.wish.family:
            return False
        if self.wish.use is ClothUse.BACKING:
            return scrap.outline.area_sq_in >= _LEAST_FOR_BACK_SQ_IN
        short, long = scrap.outline.least_box_in()
        # Slanted strips are longest where they cross the whole of a square: its diagonal.
        return short >= self.cut_in * (1 if not self.bias else 2**0.5) and (
            long * (2**0.5 if self.bias else 1) >= LEAST_STRIP_IN
        )

    def _gives(self, scrap: Scrap, taken: Sequence[Ring]) -> HeldCloth | None:
        parts: Sequence[Outline] = (scrap.outline,)
        if taken:
            parts = remainders(scrap.outline, taken, least_in=LEAST_IN)
        rule, growth = cut_rule(self.quilt.plan), growth_on(scrap, self.quilt.plan)
        strips: list[Strip] = []
        for part in parts:
            cloth = usable_outline(replace(scrap, outline=part), rule)
            strips += self._strips(cloth, grain_of(scrap).deg)
        if not strips:
            return None
        if self.wish.use is ClothUse.BACKING:
            strips = [max(strips, key=lambda one: one.length_in * one.width_in)]
        strips.sort(key=lambda one: -one.length_in)
        rings = tuple(tuple((x * growth, y * growth) for x, y in one.ring) for one in strips)
        lengths = tuple(one.length_in for one in strips)
        width_in = strips[0].width_in
        return HeldCloth(self.wish.use, scrap.number, scrap.fabric, rings, lengths, width_in)

    def _strips(self, cloth: Outline, grain_deg: float) -> list[Strip]:
        if self.wish.use is ClothUse.BACKING:
            found = largest_rectangle(cloth, grain_deg)
            return [found] if found else []
        if self.bias:
            ways = [(grain_deg + turn, slant) for turn in (45.0, -45.0) for slant in (1, -1)]
        else:
            ways = [(grain_deg, 0), (grain_deg + 90.0, 0)]
        tried = [
            strips_along(cloth, self.cut_in, deg, slant=slant, least_in=LEAST_STRIP_IN)
            for deg, slant in ways
        ]
        return list(max(tried, key=lambda some: sum(one.length_in for one in some)))

    def _line(self, fabric: int, some: list[HeldCloth], name: str) -> ClothLine:
        some.sort(key=lambda one: -sum(one.lengths_in) * one.width_in)
        share, gives_in, panels = self._share(some)
        row = self.row_of[fabric]
        look = next(one for one in self.store.scraps() if one.number == some[0].scrap).appearance
        return ClothLine(
            fabric,
            name,
            self.families[row],
            self._value(row),
            ("belongs", "borderline", "clashes")[self._grade(fabric)],
            tuple(some),
            gives_in,
            share,
            panels,
            look.kind in WOVEN_KINDS,
        )

    def _share(self, some: Sequence[HeldCloth]) -> tuple[float, float, tuple[Panel, ...]]:
        if self.wish.use is not ClothUse.BACKING:
            lengths = [length for one in some for length in one.lengths_in]
            gives_in = joined_length(lengths, self.join_in)
            return gives_in / self.needed_in, gives_in, ()
        back = self.finishing.backing
        cloths = [
            Lengths(one.scrap, max(one.lengths_in[0], one.width_in),
                    min(one.lengths_in[0], one.width_in))
            for one in some
        ]  # fmt: skip
        seam_in = self.wish.finishing.backing_seam_in
        panels, covers = panels_of(cloths, (back.width_in, back.length_in), seam_in)
        wide = joined_length([one.wide_in for one in panels], 2 * seam_in)
        area = wide * panels[0].long_in if panels else 0.0
        share = area / (back.width_in * back.length_in)
        return (max(1.0, share) if covers else min(share, 0.999)), wide, panels

    def _together(self, lines: Sequence[ClothLine]) -> tuple[int, ...]:
        """Give scraps of cloth that belongs which together will do; none where they do not."""
        some: list[HeldCloth] = []
        for line in lines:
            if self._grade(line.fabric):
                continue
            for one in line.scraps:
                some.append(one)
                if self._share(some)[0] >= 1:
                    return tuple(one.scrap for one in some)
        return ()

    def _grade(self, fabric: int) -> int:
        return int(self.grade[self.row_of[fabric]])

    def _value(self, row: int) -> str:
        dark, light = value_limits()
        lightness = float(self.usable.table.lightness[row])
        return "light" if lightness >= light else "dark" if lightness < dark else "medium"
