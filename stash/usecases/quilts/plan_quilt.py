"""Make, read, keep and set aside quilts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from shlex import quote
from typing import Any

from shapely.geometry import Polygon

from stash.errors import PlanError
from stash.quilt.bed_sizes import QUILT_SIZES
from stash.quilt.pattern import Pattern, counts_for_size, make_pattern
from stash.quilt.plan import CropPlace, Plan, Quilt, QuiltPiece
from stash.quilt.remainder import lies_on
from stash.quilt.setting import setting_named
from stash.shape.containment.piece_fit import Placement
from stash.shape.plane.outline import Ring
from stash.shape.templates.template import Template, families, make_template, shape_called
from stash.usecases.palettes.manage_palettes import palette_named
from stash.usecases.ports import Document, Store

__all__ = [
    "HeldPieces",
    "QuiltRequest",
    "checked_plan",
    "cut_ring",
    "held_on_scraps",
    "held_scraps",
    "keep_quilt",
    "make_quilt",
    "name_free",
    "pattern_of",
    "place_names",
    "plan_of",
    "plan_record",
    "quilt_named",
    "quilt_seen",
    "quilts",
    "quilts_seen",
    "set_aside",
    "template_of",
]

_KIND = "quilt"
_TOUCH_SQ_IN = 1e-4
MOST_PIECES = 4000  # a king-size quilt of 2-inch squares has 2,544


@dataclass(frozen=True, slots=True)
class QuiltRequest:
    """What a quilt is to be, as said by a person.

    Attributes
    ----------
    name, template, size : str
        What it is called, the shape, and its finished size.
    setting : str
        Name of the setting; empty for the usual one.
    rows, across : int or None
        Rows and pieces per row; or else ``finished_in`` or ``bed``.
    finished_in : (width, length) or None
        Finished size to reach, inches.
    bed : str
        A quilt size by name: crib, lap, twin, queen, king.
    straight : bool
        Straight edges.
    charm : bool
        Each fabric once.
    limit : int or None
        Most pieces of one fabric.
    palette : str
        Name of a palette.
    """

    name: str
    template: str
    size: str
    setting: str = ""
    rows: int | None = None
    across: int | None = None
    finished_in: tuple[float, float] | None = None
    bed: str = ""
    straight: bool = False
    charm: bool = False
    limit: int | None = None
    palette: str = ""
    seam_allowance_in: float = 0.25
    grain_tolerance_deg: float | None = None
    shrink_share: float = 0.03
    borderline: bool = False
    values: Mapping[str, float] | None = None


def make_quilt(store: Store, request: QuiltRequest) -> Quilt:
    """Make the plan of a quilt and keep it.

    Raises
    ------
    PlanError
        If the counts or the size are not told, are told twice, or a quilt of that name exists.
    TemplateError, SettingError, NotFoundError
        If the shape, its setting or the palette is not known.
    """
    quilt = Quilt(name_free(store, request.name), plan_of(store, request))
    keep_quilt(store, quilt, why=f"planned the quilt {quilt.name}")
    return quilt


def plan_of(store: Store, request: QuiltRequest) -> Plan:
    """Give the plan a request asks for; raises as `make_quilt` does."""
    if request.charm and request.limit not in (None, 1):
        raise PlanError("A charm quilt takes each fabric once; leave the limit per fabric out.")
    family = shape_called(request.template)
    if family not in families():
        raise PlanError(
            f"“{request.template}” has no setting: how pieces of a shape of your own join is not "
            f"known. A quilt is planned of {', '.join(families())}.",
            at_terminal="“stash fit” and “stash match” take your own shape.",
        )
    _check_seam_and_turn(request.shrink_share, request.grain_tolerance_deg)
    template = make_template(family, request.size, seam_allowance_in=request.seam_allowance_in)
    setting = setting_named(template.family, request.setting or None)
    rows, across = _counts(request, template)
    plan = Plan(
        template=template.family,
        size=request.size,
        setting=setting.name,
        straight=request.straight,
        rows=rows,
        across=across,
        palette=request.palette,
        limit=1 if request.charm else request.limit,
        seam_allowance_in=request.seam_allowance_in,
        grain_tolerance_deg=request.grain_tolerance_deg,
        shrink_share=request.shrink_share,
        borderline=request.borderline,
        values=dict(request.values) if request.values else None,
    )
    return checked_plan(store, plan)


def checked_plan(store: Store, plan: Plan) -> Plan:
    """Give a plan that can be, or refuse it; raises as `make_quilt` does."""
    if plan.palette:
        palette_named(store, plan.palette)
    if plan.limit is not None and plan.limit < 1:
        raise PlanError("The limit per fabric is one piece or more.")
    if plan.reserve_rows < 0:
        raise PlanError("A reserve is for so many rows more, none or some.")
    _check_seam_and_turn(plan.shrink_share, plan.grain_tolerance_deg)
    template = template_of(plan)
    setting = setting_named(template.family, plan.setting or None)
    straight = plan.straight and setting.window is not None
    plan = replace(plan, setting=setting.name, straight=straight)
    _check_count(plan.rows, plan.across)
    pattern_of(plan)  # refuses counts that the setting does not have
    return plan


def name_free(store: Store, name: str) -> str:
    """Give a name as it is kept; raises PlanError if there is none, or it is taken."""
    name = name.strip()
    if not name:
        raise PlanError("A quilt needs a name; give one such as Tidewater.")
    if any(quilt.name == name for quilt in quilts(store)):
        raise PlanError(
            f"There is a quilt “{name}” already; choose another name.",
            at_terminal="Or plan it anew with --replace.",
        )
    return name


def _check_count(rows: int, across: int) -> None:
    if rows * across > MOST_PIECES:
        raise PlanError(
            f"{rows} rows of {across} are {rows * across:,} pieces; I plan quilts of up to "
            f"{MOST_PIECES:,}. Take a larger piece or fewer rows."
        )


def _check_seam_and_turn(shrink_share: float, tolerance_deg: float | None) -> None:
    if not 0 <= shrink_share < 0.5:
        raise PlanError("Shrinkage is a share such as 0.03 for 3 %; give less than half.")
    if tolerance_deg is not None and not 0 <= tolerance_deg <= 45:
        raise PlanError("The grain tolerance is an angle from 0 to 45 degrees.")


def _counts(request: QuiltRequest, template: Template) -> tuple[int, int]:
    counted = request.rows is not None or request.across is not None
    if sum(map(bool, (counted, request.finished_in, request.bed))) != 1:
        raise PlanError(
            "Say how large the quilt is in one way: rows and pieces across, a finished size, "
            "or a bed."
        )
    if counted:
        if request.rows is None or request.across is None:
            raise PlanError("Give both the rows and the pieces across.")
        return request.rows, request.across
    width_in, length_in = request.finished_in or bed_size(request.bed)
    if not (0 < width_in <= 400 and 0 < length_in <= 400):
        raise PlanError("A finished quilt is more than nothing and at most 400 inches each way.")
    setting = setting_named(template.family, request.setting or None)
    ring = template.finished_ring()
    return counts_for_size(ring, setting, width_in, length_in, straight=request.straight)


def bed_size(bed: str) -> tuple[float, float]:
    """Give the usual finished width and length of a quilt by name, inches; raises PlanError."""
    for size in QUILT_SIZES:
        if size.name == bed.strip().lower():
            return size.width_in, size.length_in
    known = ", ".join(size.name for size in QUILT_SIZES)
    raise PlanError(f"I know no quilt size “{bed}”. There are: {known}; or give a finished size.")


def template_of(plan: Plan) -> Template:
    """Give the template of a plan."""
    return make_template(plan.template, plan.size, seam_allowance_in=plan.seam_allowance_in)


def pattern_of(plan: Plan) -> Pattern:
    """Lay the plan's pieces out as shapes."""
    setting = setting_named(plan.template, plan.setting)
    ring = template_of(plan).finished_ring()
    return make_pattern(ring, setting, plan.rows, plan.across, straight=plan.straight)


def place_names(plan: Plan) -> tuple[str, ...]:
    """Name the places of a plan, row and piece."""
    return tuple(place.name for place in pattern_of(plan).places)


def quilts(store: Store) -> tuple[Quilt, ...]:
    """Give all quilts, oldest first."""
    return tuple(Quilt.of_record(one.name, one.body) for one in store.documents(_KIND))


def quilt_named(store: Store, name: str) -> Quilt:
    """Give a quilt by its name; raises NotFoundError."""
    return quilt_seen(store, name)[0]


def quilt_seen(store: Store, name: str) -> tuple[Quilt, Document]:
    """Give a quilt and its record as it stands, for a change of it; raises NotFoundError."""
    document = store.document(_KIND, name)
    return _as_known_today(store, Quilt.of_record(document.name, document.body)), document


def _as_known_today(store: Store, quilt: Quilt) -> Quilt:
    """Give a quilt whose pieces name the fabrics as they are since joined or parted."""
    fabrics = {scrap.number: scrap.fabric for scrap in store.scraps()} if quilt.pieces else {}
    if all(fabrics.get(piece.scrap, piece.fabric) == piece.fabric for piece in quilt.pieces):
        return quilt
    pieces = (
        replace(piece, fabric=fabrics.get(piece.scrap, piece.fabric)) for piece in quilt.pieces
    )
    return replace(quilt, pieces=tuple(pieces))


def quilts_seen(store: Store) -> Sequence[Document]:
    """Give the records of all quilts: which scraps are free follows from all of them."""
    return store.documents(_KIND)


def keep_quilt(store: Store, quilt: Quilt, *, seen: Sequence[Document] = (), why: str) -> None:
    """Keep a quilt in place of its older record, undoably.

    Raises ChangedElsewhereError if one of the records it rests on was changed since it was seen.
    """
    store.keep_document(quilt_document(quilt), seen=seen, why=why)


def quilt_document(quilt: Quilt) -> Document:
    """Give the record a store keeps."""
    return Document(_KIND, quilt.name, quilt.to_record())


def held_scraps(store: Store, *, but: str = "") -> Mapping[int, str]:
    """Give the quilts that hold scraps, by scrap number; one quilt may be left out.

    Reservations live in the quilts' own records, so no scrap is held by a quilt that is gone.
    """
    held: dict[int, str] = {}
    for quilt in quilts(store):
        if quilt.name != but:
            cloth = (one.scrap for one in quilt.held_cloth)
            held.update(dict.fromkeys((*quilt.held_scraps, *cloth), quilt.name))
    return held


@dataclass(frozen=True, slots=True)
class HeldPieces:
    """What quilts hold of one scrap: the cuts as rings in its inches, and the quilts' names."""

    pieces: tuple[Ring, ...]
    quilts: tuple[str, ...]

    @property
    def words(self) -> str:
        """The quilts in words."""
        return " and ".join(self.quilts)


def cut_ring(plan: Plan, crop: CropPlace) -> Ring:
    """Give a piece's cut outline in its scrap's inches; unwashed cloth is cut larger."""
    grown = tuple((x * crop.growth, y * crop.growth) for x, y in template_of(plan).cut)
    return Placement(crop.x, crop.y, crop.angle_deg).moved(grown)


def held_on_scraps(
    store: Store, *, but: str = "", also: tuple[Quilt, Sequence[QuiltPiece]] | None = None
) -> Mapping[int, HeldPieces]:
    """Give the pieces that quilts hold, by scrap number.

    A quilt holds its pieces alone, and the cloth for its edge and back: what is left of the scrap
    is free.

    Parameters
    ----------
    but : str
        The quilt that asks; pieces it holds are free for it, other cloth is not.
    also : (Quilt, sequence of QuiltPiece), optional
        Pieces of that quilt that are not.
    """
    every = quilts(store)
    held: dict[int, HeldPieces] = {}
    holding = [(one, one.held_pieces) for one in every if one.name != but]
    if also is not None:
        holding.append((also[0], tuple(also[1])))
    for quilt, pieces in holding:
        for piece in pieces:
            ring = (cut_ring(quilt.plan, piece.crop),) if piece.crop else ()
            held[piece.scrap] = _held_too(held.get(piece.scrap), ring, quilt.name)
    for quilt in every:
        for cloth in quilt.held_cloth:
            held[cloth.scrap] = _held_too(held.get(cloth.scrap), cloth.rings, quilt.name)
    return held


def _held_too(before: HeldPieces | None, rings: Sequence[Ring], quilt: str) -> HeldPieces:
    if before is None:
        return HeldPieces(tuple(rings), (quilt,))
    names = dict.fromkeys((*before.quilts, quilt))
    return HeldPieces((*before.pieces, *rings), tuple(names))


def set_aside(store: Store, name: str, *, back: bool = False) -> Quilt:
    """Let a quilt rest, so that its scraps are free; or take it up again.

    Raises
    ------
    PlanError
        If a piece it needs has been taken by another quilt, or its scrap is cut or gone.
    """
    seen = quilts_seen(store)
    quilt = quilt_named(store, name)
    if back:
        _check_pieces_free(store, quilt)
    changed = replace(quilt, set_aside=not back)
    done = "took up" if back else "set aside"
    keep_quilt(store, changed, seen=seen, why=f"{done} the quilt {name}")
    return changed


def _check_pieces_free(store: Store, quilt: Quilt) -> None:
    scraps = {scrap.number: scrap for scrap in store.scraps()}
    held = held_on_scraps(store, but=quilt.name)  # set aside it holds no cloth itself
    lost = set()
    back = replace(quilt, set_aside=False)
    wanted: list[tuple[int, Sequence[Ring]]] = [(one.scrap, one.rings) for one in back.held_cloth]
    wanted += [
        (one.scrap, [cut_ring(quilt.plan, one.crop)] if one.crop else [])
        for one in back.held_pieces
    ]
    for number, rings in wanted:
        scrap = scraps.get(number)
        there = scrap is not None and lies_on(scrap.outline, rings)
        taken = number in held and any(_overlap(ring, held[number]) for ring in rings)
        if taken or not there:
            lost.add(number)
    if lost:
        some = ", ".join(str(number) for number in sorted(lost)[:5])
        raise PlanError(
            f"The quilt “{quilt.name}” needs scrap {some}, which another quilt has taken since or "
            "which is gone. Choose its scraps again.",
            at_terminal=f"That is: stash quilt allot {quote(quilt.name)}.",
        )


def _overlap(ring: Ring, held: HeldPieces) -> bool:
    piece = Polygon(ring)
    return any(piece.intersection(Polygon(other)).area > _TOUCH_SQ_IN for other in held.pieces)


def plan_record(quilt: Quilt, pattern: Pattern) -> dict[str, Any]:
    """Give a plan with its counts and finished size for JSON."""
    plan = quilt.plan
    return {
        "quilt": quilt.name,
        "template": plan.template,
        "size": plan.size,
        "setting": plan.setting,
        "edge": "straight" if plan.straight else "as pieced",
        "rows": plan.rows,
        "across": plan.across,
        "pieces": len(pattern.places),
        "part_pieces": pattern.part_count,
        "width_in": round(pattern.width_in, 3),
        "length_in": round(pattern.length_in, 3),
        "palette": plan.palette or None,
        "limit_per_fabric": plan.limit,
        "seam_allowance_in": plan.seam_allowance_in,
        "grain_tolerance_deg": plan.grain_tolerance_deg,
        "shrink_share": plan.shrink_share,
        "set_aside": quilt.set_aside,
        "wishes": wishes_record(plan),
        "reserve_rows": plan.reserve_rows,
    }


def wishes_record(plan: Plan) -> dict[str, Any]:
    """Give what is wished of a quilt for JSON; what is left open is empty or null."""
    return {
        "surely": list(plan.surely),
        "never": list(plan.never),
        "kinds": list(plan.kinds),
        "bins": list(plan.bins),
        "values": list(plan.tones),
        "value_shares": dict(plan.values) if plan.values else None,
        "amounts": {name: list(share) for name, share in (plan.amounts or {}).items()},
        "borderline": plan.borderline,
        "many_fabrics": plan.uses_many,
        "scraps_first": plan.scraps_first,
        "frame": plan.frame or None,
    }
