"""How large a piece each scrap gives, and how many: computed once, then read from the stash."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from stash.colour.appearance import PrintKind
from stash.scrap import Scrap
from stash.shape.plane.outline import Outline
from stash.shape.templates.template import Template, families, make_template
from stash.shape.templates.turning import Turning
from stash.usecases.pieces.grain import grain_of
from stash.usecases.ports import AskedStore, SizeKey

__all__ = [
    "CutRule",
    "count_key",
    "fit_key",
    "has_stored_sizes",
    "keep_sizes",
    "kept_sizes",
    "largest_sizes",
    "one_way_scraps",
    "piece_counts",
    "usable_outline",
]

# Good quilting cotton loses about 3 % in each direction; trade-facts sheet, "rule of thumb".
USUAL_SHRINKAGE = 0.03
_SIZED_TOGETHER = 96  # more at once are no quicker
_PORTION = 16  # scraps counted between two writes: what a stop can lose


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

    def turning(self, scrap: Scrap, *, one_way: bool) -> Turning:
        """Give the angles at which a piece may lie on this scrap.

        Parameters
        ----------
        scrap : Scrap
        one_way : bool
            Whether its print has an up and a down: as it is seen, the template's x axis then
            points the way of the grain. While the grain is only guessed, nothing tells which way
            that is.
        """
        if self.grain_tolerance_deg is None:
            return Turning.free()
        steps: tuple[float, ...] = (
            (0, 180) if scrap.appearance.kind is PrintKind.STRIPE else (0, 90, 180, 270)
        )
        if one_way and scrap.grain_deg is not None:
            steps = (0,)
        return Turning.grain(grain_of(scrap).deg, self.grain_tolerance_deg, steps)


def usable_outline(scrap: Scrap, rule: CutRule) -> Outline:
    """Give the outline a piece may be cut from: unwashed cloth at its size after washing."""
    return washed_outline(scrap.outline, rule, washed=scrap.washed)


def washed_outline(outline: Outline, rule: CutRule, *, washed: bool) -> Outline:
    """Give an outline at its size after washing."""
    return outline if washed or rule.shrinkage == 0 else scaled(outline, 1 - rule.shrinkage)


def scaled(outline: Outline, factor: float) -> Outline:
    """Scale an outline about the origin; its error stays, which is the safe side."""
    rings = [
        tuple((x * factor, y * factor) for x, y in ring)
        for ring in (outline.points, *outline.holes)
    ]
    return replace(outline, points=rings[0], holes=tuple(rings[1:]))


def one_way_scraps(store: AskedStore) -> frozenset[int]:
    """Give the numbers of the scraps whose print has an up and a down."""
    fabrics = {fabric.number for fabric in store.fabrics() if fabric.one_way}
    if not fabrics:
        return frozenset()
    return frozenset(scrap.number for scrap in store.scraps() if scrap.fabric in fabrics)


def kept_sizes(store: AskedStore, key: SizeKey, rule: CutRule) -> dict[int, float]:
    """Give what the stash keeps for a key, by scrap number; a fresh copy.

    Where turns count, answers for one-way prints are kept apart: a fabric that was marked since
    is worked out anew.
    """
    kept = dict(store.largest_sizes(key))
    if rule.grain_tolerance_deg is None:
        return kept
    one_way = one_way_scraps(store)
    if not one_way:
        return kept
    apart = store.largest_sizes(_one_way_key(key))
    both_ways = {number: size for number, size in kept.items() if number not in one_way}
    return both_ways | {number: size for number, size in apart.items() if number in one_way}


def _one_way_key(key: SizeKey) -> SizeKey:
    return replace(key, rule=f"{key.rule}-one-way")


def largest_sizes(
    store: AskedStore, scraps: Sequence[Scrap], *, family: str, rule: CutRule
) -> Mapping[int, float]:
    """Give the largest finished size in inches by scrap number, computing only what is missing."""
    key = SizeKey(family, rule.word())
    known = store.derived(key, lambda: kept_sizes(store, key, rule))
    missing = [scrap for scrap in scraps if scrap.number not in known]
    one_way = one_way_scraps(store)
    for start in range(0, len(missing), _SIZED_TOGETHER):
        from stash.shape.containment.largest import largest_sizes as solve  # loads shapely

        portion = missing[start : start + _SIZED_TOGETHER]
        found = solve(
            [usable_outline(scrap, rule) for scrap in portion],
            family,
            turnings=[rule.turning(scrap, one_way=scrap.number in one_way) for scrap in portion],
            seam_allowance_in=rule.seam_allowance_in,
        )
        fresh = {scrap.number: size for scrap, size in zip(portion, found, strict=True)}
        keep_sizes(store, key, rule, {one: fresh[one] for one in _unchanged(store, portion)})
        known.update(fresh)
    return known


def has_stored_sizes(template: Template) -> bool:
    """Tell shapes of the library in their usual proportions: only those have stored sizes."""
    if template.family not in families() or template.may_turn_over:
        return False
    usual = make_template(
        template.family, template.size_in, seam_allowance_in=template.seam_allowance_in
    )
    return usual.cut == template.cut


def fit_key(template: Template, rule: CutRule) -> SizeKey:
    """Name the stored answers to whether one piece of this very shape and size fits."""
    return replace(count_key(template, rule), family=f"fits:{_shape_word(template)}")


def count_key(template: Template, rule: CutRule) -> SizeKey:
    """Name the stored counts of this very shape and size."""
    return SizeKey(f"pieces:{_shape_word(template)}", rule.word())


def _shape_word(template: Template) -> str:
    shape = hashlib.sha256(repr(template.cut).encode()).hexdigest()[:16]
    either = template.may_turn_over and not template.mirror_symmetric
    return f"{template.family}:{shape}{':either-side' if either else ''}"


def piece_counts(
    store: AskedStore, scraps: Sequence[Scrap], *, template: Template, rule: CutRule
) -> Mapping[int, float]:
    """Give how many pieces each scrap yields, computing only what is missing."""
    key = count_key(template, rule)
    known = store.derived(key, lambda: kept_sizes(store, key, rule))
    missing = [scrap for scrap in scraps if scrap.number not in known]
    one_way = one_way_scraps(store)
    for start in range(0, len(missing), _PORTION):
        portion = missing[start : start + _PORTION]
        turnings = [rule.turning(scrap, one_way=scrap.number in one_way) for scrap in portion]
        outlines = [usable_outline(scrap, rule) for scrap in portion]
        counts = _counted(outlines, template, turnings)
        fresh = {scrap.number: count for scrap, count in zip(portion, counts, strict=True)}
        keep_sizes(store, key, rule, {one: fresh[one] for one in _unchanged(store, portion)})
        known.update(fresh)
    return known


def _counted(
    outlines: Sequence[Outline], template: Template, turnings: Sequence[Turning]
) -> list[float]:
    """Count the pieces on some scraps."""
    from stash.shape.nesting.filling import fill  # loads scipy and shapely

    return [
        float(fill(outline, template, turning=turning).pieces)
        for outline, turning in zip(outlines, turnings, strict=True)
    ]


def keep_sizes(store: AskedStore, key: SizeKey, rule: CutRule, sizes: Mapping[int, float]) -> None:
    """Keep what was worked out, one-way prints apart where turns count."""
    one_way = frozenset[int]() if rule.grain_tolerance_deg is None else one_way_scraps(store)
    apart = {number: size for number, size in sizes.items() if number in one_way}
    store.keep_largest_sizes(
        key, {number: size for number, size in sizes.items() if number not in one_way}
    )
    if apart:
        store.keep_largest_sizes(_one_way_key(key), apart)


def _unchanged(store: AskedStore, of: Sequence[Scrap]) -> list[int]:
    """Give the numbers of the scraps that were not corrected meanwhile."""
    now = {scrap.number: scrap for scrap in store.scraps()}
    return [scrap.number for scrap in of if now.get(scrap.number, scrap) == scrap]
