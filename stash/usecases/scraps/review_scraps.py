"""Look scraps over: what they are called, how big they are, which of them one asked for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from stash.colour.appearance import PrintKind
from stash.colour.cloth_family import cloth_families
from stash.colour.cloth_name import cloth_names
from stash.colour.naming import FAMILIES, value_limits
from stash.errors import PaletteError, RecordDamagedError
from stash.scrap import Fabric, Scrap, ScrapState
from stash.usecases.ports import Store
from stash.usecases.quilts.plan_quilt import held_scraps
from stash.usecases.twins.one_cloth_questions import review, undecided

__all__ = [
    "SHRINKAGE",
    "FabricView",
    "ScrapFilter",
    "ScrapView",
    "find_fabrics",
    "find_scraps",
    "sift",
    "view_scrap",
    "view_scraps",
    "words_for_fabrics",
]

# Cotton loses about this share of each direction in its first wash: the trade's rule of thumb,
# an inch in the yard (Silicon Valley quilters' "Quilting Pointers").
SHRINKAGE = 0.03

_VALUES = ("light", "medium", "dark")


@dataclass(frozen=True, slots=True)
class ScrapFilter:
    """Which scraps are asked for; what is left empty does not matter.

    Attributes
    ----------
    families, values, kinds : tuple of str
        Any of these.
    place : str
        The bin, as written.
    text : str
        Part of the fabric's name, or of notes, fibre, place or colour name.
    washed : bool or None
        Only washed, only unwashed.
    least_short_in, least_long_in : float
        The upright box around the scrap, turned as it fits best, is at least so wide and long.
    state : str
        whole, reserved or cut up.
    """

    families: tuple[str, ...] = ()
    values: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    place: str = ""
    text: str = ""
    washed: bool | None = None
    least_short_in: float = 0.0
    least_long_in: float = 0.0
    state: str = ""


@dataclass(frozen=True, slots=True)
class ScrapView:
    """A scrap with what a person calls it.

    Attributes
    ----------
    short_in, long_in : float
        Sides of the least box around the scrap, any turn, inches.
    washed_short_in, washed_long_in : float
        The same after washing; equal when it is washed already.
    family, value : str
        Colour family one sorts it under, and its value among the whole stash.
    colour : str
        What the cloth of the fabric's first scrap is called by its colours.
    held_for : str
        The quilt that holds it, or nothing.
    """

    scrap: Scrap
    fabric: Fabric
    short_in: float
    long_in: float
    washed_short_in: float
    washed_long_in: float
    family: str
    value: str
    colour: str
    held_for: str = ""

    @property
    def state(self) -> str:
        """Whole, reserved for a quilt, or cut up."""
        free = self.scrap.state is not ScrapState.WHOLE or not self.held_for
        return str(self.scrap.state if free else ScrapState.RESERVED)

    @property
    def name(self) -> str:
        """The fabric's name, or what its colour is called."""
        return self.fabric.name or self.colour


@dataclass(frozen=True, slots=True)
class FabricView:
    """A fabric with its scraps, the largest first."""

    fabric: Fabric
    scraps: tuple[ScrapView, ...]

    @property
    def area_sq_in(self) -> float:
        """Cloth left of it, square inches."""
        return sum(view.scrap.outline.area_sq_in for view in self.scraps)


def find_scraps(store: Store, wanted: ScrapFilter) -> tuple[ScrapView, ...]:
    """Give the scraps asked for, by number.

    Raises
    ------
    PaletteError
        If a family, value, kind or state is not a word for one.
    """
    _refuse_unknown_words(wanted)
    everything = store.scraps()
    chosen = [scrap for scrap in everything if _is_plainly_wanted(scrap, wanted)]
    return sift(_views(store, chosen), wanted)


def sift(views: Iterable[ScrapView], wanted: ScrapFilter) -> tuple[ScrapView, ...]:
    """Give those of some views that are asked for; raises as ``find_scraps`` does."""
    _refuse_unknown_words(wanted)
    return tuple(
        view
        for view in views
        if _is_plainly_wanted(view.scrap, wanted) and _is_wanted(view, wanted)
    )


def _refuse_unknown_words(wanted: ScrapFilter) -> None:
    _refuse_unknown("colour family", wanted.families, FAMILIES)
    _refuse_unknown("value", wanted.values, _VALUES)
    _refuse_unknown("kind of print", wanted.kinds, [str(kind) for kind in PrintKind])
    states = [str(state) for state in ScrapState]
    _refuse_unknown("state of a scrap", [wanted.state] if wanted.state else [], states)


def find_fabrics(store: Store, wanted: ScrapFilter) -> tuple[FabricView, ...]:
    """Give the fabrics that have a scrap asked for, by number, with those scraps."""
    by_fabric: dict[int, list[ScrapView]] = {}
    for view in find_scraps(store, wanted):
        by_fabric.setdefault(view.fabric.number, []).append(view)
    return tuple(
        FabricView(
            views[0].fabric,
            tuple(sorted(views, key=lambda view: -view.scrap.outline.area_sq_in)),
        )
        for _, views in sorted(by_fabric.items())
    )


def words_for_fabrics(store: Store) -> dict[int, str]:
    """Say what each fabric is called: by the name it was given, else by its colours."""
    colours = _called(store, store.scraps())
    return {
        fabric.number: fabric.name or colours.get(fabric.number, "") for fabric in store.fabrics()
    }


def view_scrap(store: Store, number: int) -> ScrapView:
    """Give one scrap; raises NotFoundError."""
    (view,) = _views(store, [store.scrap(number)])
    return view


def view_scraps(store: Store, numbers: Sequence[int]) -> list[ScrapView]:
    """Give some scraps, in the order of their numbers; raises NotFoundError."""
    return _views(store, [store.scrap(number) for number in numbers])


def _views(store: Store, scraps: Sequence[Scrap]) -> list[ScrapView]:
    if not scraps:
        return []
    fabrics = {fabric.number: fabric for fabric in store.fabrics()}
    families = cloth_families([scrap.appearance for scrap in scraps])
    dark, light = value_limits()
    sides = _box_sides(scraps)
    colours = _called(store, scraps)
    held = held_scraps(store)
    views = []
    for scrap, family, (short, long) in zip(scraps, families, sides, strict=True):
        lightness = scrap.appearance.reads_as[0]
        left = 1.0 if scrap.washed else 1.0 - SHRINKAGE
        views.append(
            ScrapView(
                scrap,
                _fabric_of(scrap, fabrics),
                float(short),
                float(long),
                float(short) * left,
                float(long) * left,
                family,
                "light" if lightness >= light else "dark" if lightness < dark else "medium",
                colours[scrap.fabric],
                held.get(scrap.number, ""),
            )
        )
    return views


def _fabric_of(scrap: Scrap, fabrics: Mapping[int, Fabric]) -> Fabric:
    """Give the fabric of a scrap; a damaged stash may have lost it."""
    if scrap.fabric not in fabrics:
        raise RecordDamagedError(f"The fabric of scrap {scrap.number}")
    return fabrics[scrap.fabric]


def _called(store: Store, scraps: Sequence[Scrap]) -> dict[int, str]:
    """Say what the fabrics of some scraps are called, whichever of their scraps are asked for.

    A fabric is called by its first scrap. Until somebody has looked, one that may be the cloth of
    an earlier fabric is called as that one is: another photo is no other cloth.
    """
    named_by = _name_givers(store)
    known = {scrap.number: scrap.appearance for scrap in scraps}
    first: dict[int, int] = {}
    for scrap in scraps:
        first.setdefault(scrap.fabric, scrap.number)
    givers = {fabric: named_by.get(fabric, fabric) for fabric in first}
    columns = store.columns()
    wanted = set(givers.values())
    for number, fabric in zip(columns.number.tolist(), columns.fabric.tolist(), strict=True):
        if fabric in wanted:
            first[fabric] = min(number, first.get(fabric, number))
    looks = {
        fabric: known.get(first[fabric]) or store.scrap(first[fabric]).appearance
        for fabric in wanted
    }
    words = dict(zip(looks, cloth_names(list(looks.values())), strict=True))
    return {fabric: words[giver] for fabric, giver in givers.items()}


def _name_givers(store: Store) -> dict[int, int]:
    """Give for each fabric that may be the cloth of an earlier one the earliest of those."""

    def looked_up() -> dict[int, int]:
        """Go through the groups that wait for a look."""
        givers: dict[int, int] = {}
        for group in review(store).waiting if undecided(store).pairs else ():
            for fabric in group.fabrics[1:]:
                givers[fabric] = min(group.fabrics[0], givers.get(fabric, fabric))
        return givers

    made: dict[int, int] = store.derived("who gives fabrics their names", looked_up)
    return made


def _box_sides(scraps: Iterable[Scrap]) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Short and long side of the least box around each outline, inches, shape (n, 2)."""
    shapes = np.array([scrap.outline.polygon for scrap in scraps])
    corners = [shapely.get_coordinates(box)[:3] for box in shapely.oriented_envelope(shapes)]
    steps = np.diff(np.array(corners), axis=1)
    return np.sort(np.hypot(steps[..., 0], steps[..., 1]), axis=1)


def _is_plainly_wanted(scrap: Scrap, wanted: ScrapFilter) -> bool:
    """Ask what needs no look at colour or outline."""
    if wanted.place and scrap.place.casefold() != wanted.place.casefold():
        return False
    if wanted.washed is not None and scrap.washed is not wanted.washed:
        return False
    return not wanted.kinds or str(scrap.appearance.kind) in wanted.kinds


def _is_wanted(view: ScrapView, wanted: ScrapFilter) -> bool:
    if wanted.families and view.family not in wanted.families:
        return False
    if wanted.values and view.value not in wanted.values:
        return False
    if wanted.state and view.state != wanted.state:
        return False
    short, long = sorted((wanted.least_short_in, wanted.least_long_in))
    if view.washed_short_in < short or view.washed_long_in < long:
        return False
    if not wanted.text:
        return True
    scrap = view.scrap
    words = " ".join((view.fabric.name, view.colour, scrap.notes, scrap.fibre, scrap.place))
    return wanted.text.casefold() in words.casefold()


def _refuse_unknown(what: str, given: Iterable[str], known: Sequence[str]) -> None:
    for word in given:
        if word not in known:
            raise PaletteError(f"“{word}” is not a {what}. There are: {', '.join(known)}.")
