"""Make, read, keep and set aside quilts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from stash.errors import PlanError
from stash.quilt.bed_sizes import QUILT_SIZES
from stash.quilt.pattern import Pattern, counts_for_size, make_pattern
from stash.quilt.plan import Plan, Quilt
from stash.quilt.setting import setting_named
from stash.shape.template import Template, families, make_template
from stash.usecases.manage_palettes import palette_named
from stash.usecases.ports import Document, Store

__all__ = [
    "QuiltRequest",
    "held_scraps",
    "keep_quilt",
    "make_quilt",
    "pattern_of",
    "plan_record",
    "quilt_named",
    "quilt_seen",
    "quilts",
    "quilts_seen",
    "set_aside",
    "template_of",
]

_KIND = "quilt"
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
    replace : bool
        Whether a quilt of that name, of which nothing is cut, may be planned anew.
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
    replace: bool = False


def make_quilt(store: Store, request: QuiltRequest) -> Quilt:
    """Make the plan of a quilt and keep it.

    Raises
    ------
    PlanError
        If the counts or the size are not told, are told twice, or a quilt of that name exists.
    TemplateError, SettingError, NotFoundError
        If the shape, its setting or the palette is not known.
    """
    name = request.name.strip()
    if not name:
        raise PlanError("A quilt needs a name; give one such as Tidewater.")
    _check_name_free(store, name, again=request.replace)
    _check_rules(request)
    if request.palette:
        palette_named(store, request.palette)
    if request.template not in families():
        raise PlanError(
            f"“{request.template}” has no setting: how pieces of a shape of your own join is not "
            f"known. A quilt is planned of {', '.join(families())}.",
            at_terminal="“stash fit” and “stash match” take your own shape.",
        )
    template = make_template(
        request.template, request.size, seam_allowance_in=request.seam_allowance_in
    )
    setting = setting_named(template.family, request.setting or None)
    rows, across = _counts(request, template)
    plan = Plan(
        template=template.family,
        size=request.size,
        setting=setting.name,
        straight=request.straight and setting.window is not None,
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
    _check_count(rows, across)
    pattern_of(plan)  # refuses counts that the setting does not have
    quilt = Quilt(name, plan)
    keep_quilt(store, quilt, why=f"planned the quilt {name}")
    return quilt


def _check_name_free(store: Store, name: str, *, again: bool) -> None:
    for quilt in quilts(store):
        if quilt.name != name:
            continue
        if not again:
            raise PlanError(
                f"There is a quilt “{name}” already; choose another name.",
                at_terminal="Or plan it anew with --replace.",
            )
        if quilt.cut_count:
            raise PlanError(
                f"{quilt.cut_count} pieces of “{name}” are cut already; choose another name."
            )


def _check_count(rows: int, across: int) -> None:
    if rows * across > MOST_PIECES:
        raise PlanError(
            f"{rows} rows of {across} are {rows * across:,} pieces; I plan quilts of up to "
            f"{MOST_PIECES:,}. Take a larger piece or fewer rows."
        )


def _check_rules(request: QuiltRequest) -> None:
    if request.charm and request.limit not in (None, 1):
        raise PlanError("A charm quilt takes each fabric once; leave the limit per fabric out.")
    if request.limit is not None and request.limit < 1:
        raise PlanError("The limit per fabric is one piece or more.")
    if not 0 <= request.shrink_share < 0.5:
        raise PlanError("Shrinkage is a share such as 0.03 for 3 %; give less than half.")
    tolerance = request.grain_tolerance_deg
    if tolerance is not None and not 0 <= tolerance <= 45:
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
            held.update(dict.fromkeys(quilt.held_scraps, quilt.name))
    return held


def set_aside(store: Store, name: str, *, back: bool = False) -> Quilt:
    """Let a quilt rest, so that its scraps are free; or take it up again.

    Raises
    ------
    PlanError
        If a scrap it needs has been reserved or cut for another quilt meanwhile.
    """
    seen = quilts_seen(store)
    quilt = quilt_named(store, name)
    if back:
        _check_scraps_free(store, quilt)
    changed = replace(quilt, set_aside=not back)
    done = "took up" if back else "set aside"
    keep_quilt(store, changed, seen=seen, why=f"{done} the quilt {name}")
    return changed


def _check_scraps_free(store: Store, quilt: Quilt) -> None:
    wanted = replace(quilt, set_aside=False).held_scraps
    held = held_scraps(store, but=quilt.name)
    there = {scrap.number for scrap in store.scraps()}
    lost = sorted(number for number in wanted if number in held or number not in there)
    if lost:
        some = ", ".join(str(number) for number in lost[:5])
        raise PlanError(
            f"The quilt “{quilt.name}” needs scrap {some}, which another quilt has taken since or "
            "which is gone. Choose its scraps again.",
            at_terminal=f"That is: stash quilt allot “{quilt.name}”.",
        )


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
    }


def names_of(quilt_list: Sequence[Quilt]) -> str:
    """List quilts in a sentence."""
    return ", ".join(quilt.name for quilt in quilt_list)
