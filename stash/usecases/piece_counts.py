"""How large a piece each scrap gives, and how many: computed once, then read from the stash."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stash.colour.appearance import PrintKind
from stash.scrap import Scrap
from stash.shape.outline import Outline
from stash.shape.template import Template
from stash.shape.turning import Turning
from stash.usecases.ports import AskedStore, SizeKey

__all__ = ["CutRule", "count_key", "largest_sizes", "piece_counts", "usable_outline"]

# Good quilting cotton loses about 3 % in each direction; trade-facts sheet, "rule of thumb".
USUAL_SHRINKAGE = 0.03


@dataclass(frozen=True, slots=True)
class CutRule:
    """How pieces may be cut.

    Attributes
    ----------
    seam_allowance_in : float
        Cloth beyond the seam line on every edge, inches.
    grain_tolerance_deg : float or None
        How far the template's axis may be off the grain; None turns freely.
    shrinkage : float
        Share that an unwashed scrap will lose in each direction.
    """

    seam_allowance_in: float = 0.25
    grain_tolerance_deg: float | None = None
    shrinkage: float = USUAL_SHRINKAGE

    def word(self) -> str:
        """Name the rule, for the key of stored sizes."""
        grain = "free" if self.grain_tolerance_deg is None else f"grain{self.grain_tolerance_deg:g}"
        return f"seam{self.seam_allowance_in:g}-{grain}-shrink{self.shrinkage:g}"

    def turning(self, scrap: Scrap) -> Turning:
        """Give the angles at which a piece may lie on this scrap."""
        if self.grain_tolerance_deg is None:
            return Turning.free()
        steps = (0, 180) if scrap.appearance.kind is PrintKind.STRIPE else (0, 90, 180, 270)
        return Turning.grain(grain_of(scrap), self.grain_tolerance_deg, steps)


def grain_of(scrap: Scrap) -> float:
    """Give the grain direction, degrees: the one set, or that of the longest straight edge."""
    if scrap.grain_deg is not None:
        return scrap.grain_deg
    return scrap.outline.longest_edge_deg()


def usable_outline(scrap: Scrap, rule: CutRule) -> Outline:
    """Give the outline a piece may be cut from: unwashed cloth at its size after washing."""
    if scrap.washed or rule.shrinkage == 0:
        return scrap.outline
    return scaled(scrap.outline, 1 - rule.shrinkage)


def scaled(outline: Outline, factor: float) -> Outline:
    """Scale an outline about the origin; its error stays, which is the safe side."""
    rings = [
        tuple((x * factor, y * factor) for x, y in ring)
        for ring in (outline.points, *outline.holes)
    ]
    return replace(outline, points=rings[0], holes=tuple(rings[1:]))


def largest_sizes(
    store: AskedStore, scraps: Sequence[Scrap], *, family: str, rule: CutRule
) -> Mapping[int, float]:
    """Give the largest finished size in inches by scrap number, computing only what is missing."""
    key = SizeKey(family, rule.word())
    known = store.derived(key, lambda: dict(store.largest_sizes(key)))
    missing = [scrap for scrap in scraps if scrap.number not in known]
    if missing:
        from stash.shape.largest import largest_sizes as solve  # noqa: PLC0415 - loads shapely

        found = solve(
            [usable_outline(scrap, rule) for scrap in missing],
            family,
            turnings=[rule.turning(scrap) for scrap in missing],
            seam_allowance_in=rule.seam_allowance_in,
        )
        fresh = {scrap.number: size for scrap, size in zip(missing, found, strict=True)}
        _keep(store, key, known, fresh, missing)
    return known


def count_key(template: Template, rule: CutRule) -> SizeKey:
    """Name the stored counts of this very shape and size."""
    shape = hashlib.sha256(repr(template.cut).encode()).hexdigest()[:16]
    return SizeKey(f"pieces:{template.family}:{shape}", rule.word())


def piece_counts(
    store: AskedStore, scraps: Sequence[Scrap], *, template: Template, rule: CutRule
) -> Mapping[int, float]:
    """Give how many pieces each scrap yields, computing only what is missing."""
    key = count_key(template, rule)
    known = store.derived(key, lambda: dict(store.largest_sizes(key)))
    missing = [scrap for scrap in scraps if scrap.number not in known]
    if missing:
        from stash.shape.nesting import fill  # noqa: PLC0415 - loads scipy and shapely
        from stash.shape.piece_fit import turned_over  # noqa: PLC0415

        # The frame of a photo runs down the table: seen in it, a face-up piece is its own mirror
        # image. Shapes that are their own mirror image need no turning over.
        shape = template if template.mirror_symmetric else turned_over(template)
        layouts = {
            scrap.number: fill(usable_outline(scrap, rule), shape, turning=rule.turning(scrap))
            for scrap in missing
        }
        fresh = {number: float(layout.pieces) for number, layout in layouts.items()}
        _keep(store, key, known, fresh, missing)
    return known


def _keep(
    store: AskedStore,
    key: SizeKey,
    known: dict[int, float],
    fresh: Mapping[int, float],
    of: Sequence[Scrap],
) -> None:
    """Keep what was worked out; not for a scrap that was corrected meanwhile."""
    now = {scrap.number: scrap for scrap in store.scraps()}
    still = {scrap.number for scrap in of if now.get(scrap.number, scrap) == scrap}
    store.keep_largest_sizes(key, {number: fresh[number] for number in fresh if number in still})
    known.update(fresh)
