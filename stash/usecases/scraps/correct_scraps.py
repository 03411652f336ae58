"""Put a scrap right by hand: every correction is one change in the history, undoable."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.colour.spaces import Lab, chroma_of, lab_of_hex, lab_of_linear, linear_of_lab
from stash.errors import MeasureError, PaletteError
from stash.scrap import Fabric, Scrap, ScrapState
from stash.shape.plane.outline import Outline, Point, outline_of
from stash.units import parse_length
from stash.usecases.ports import ScrapToLog, Store
from stash.usecases.twins.answer_twins import Answers, answer_twins
from stash.usecases.twins.same_fabric import no_fabric

if TYPE_CHECKING:
    from stash.photo.cloth_picture import PicturedCloth

__all__ = [
    "TYPED_COLOUR_ERROR_DE00",
    "Correction",
    "RuledScrap",
    "add_ruled_scrap",
    "appearance_of_hex",
    "corners_from_words",
    "correct_scrap",
    "correct_scraps",
    "name_fabrics",
    "print_kind",
]

# A colour chosen by eye from a screen; a judgement: twice the error of a poor photo.
TYPED_COLOUR_ERROR_DE00 = 8.0


@dataclass(frozen=True, slots=True)
class Correction:
    """What is to be different about a scrap; what is None stays.

    Attributes
    ----------
    name, one_way
        Of its fabric: what it is called, and whether its print has an up and a down.
    grain_deg : float or None
        Direction of the grain, degrees counter-clockwise from x.
    forget_grain : bool
        Say that the grain is not known after all.
    outline : Outline or None
        The whole outline anew.
    stains : tuple of rings
        Parts to be left out, added as holes.
    same_as : int or None
        A fabric that this scrap is of, and with it all that is counted to the same cloth.
    own_fabric : bool
        Say that it is of a fabric of its own; with ``same_as`` it is parted first, so that it
        alone is counted to that fabric.
    """

    name: str | None = None
    one_way: bool | None = None
    place: str | None = None
    washed: bool | None = None
    fibre: str | None = None
    notes: str | None = None
    grain_deg: float | None = None
    forget_grain: bool = False
    outline: Outline | None = None
    stains: tuple[Sequence[Point], ...] = ()
    same_as: int | None = None
    own_fabric: bool = False


@dataclass(frozen=True, slots=True)
class RuledScrap:
    """A scrap measured with a ruler, and what it looks like.

    Attributes
    ----------
    outline : Outline
        A rectangle, its lower left corner at 0, 0.
    colours : tuple of str
        Hex colours; not needed with a picture or a fabric.
    kind : PrintKind or None
        As a person says it; None is as the picture shows, or plain.
    fabric : int or None
        A fabric already there; without a picture the scrap looks like it.
    cloth : PicturedCloth or None
        What a picture of the cloth tells.
    """

    outline: Outline
    colours: tuple[str, ...] = ()
    kind: PrintKind | None = None
    fabric: int | None = None
    cloth: PicturedCloth | None = None
    name: str = ""
    place: str = ""
    washed: bool = False


def correct_scrap(
    store: Store, number: int, correction: Correction, *, seen: Scrap | None = None
) -> tuple[str, ...]:
    """Apply the correction and say what was changed, one line for each change in the history.

    Parameters
    ----------
    seen : Scrap or None
        The scrap as it was when the correction was thought of; as it is now if None.

    Raises
    ------
    NotFoundError
        If there is no such scrap or fabric.
    MeasureError
        If the new outline is no shape.
    ChangedElsewhereError
        If what is to change was changed by someone else since it was seen.
    """
    scrap = store.scrap(number) if seen is None else seen
    fabric, done = _correct_fabric_of(store, scrap, correction)
    changed, what = _corrected(scrap, correction)
    if what:
        why = f"scrap {number}: {', '.join(what)}"
        store.change_scrap(changed, seen=scrap, why=why)
        done.append(why)
    done += _correct_names(store, fabric, correction)
    return tuple(done)


def correct_scraps(store: Store, numbers: Sequence[int], correction: Correction) -> tuple[str, ...]:
    """Apply one correction to many scraps, as one change in the history; says what it was.

    Only what many scraps can have in common is changed: bin, washed, fibre, notes, grain, fabric.

    Raises
    ------
    NotFoundError
        If there is no such scrap or fabric; nothing is changed then.
    MeasureError
        If the correction holds what belongs to a single scrap.
    """
    common = replace(correction, name=None, one_way=None, outline=None, stains=(), own_fabric=False)
    if common != correction:
        raise MeasureError(
            "Outline, stains, name and print are put right one scrap at a time; name one scrap."
        )
    scraps = [store.scrap(number) for number in numbers]
    pairs: list[tuple[Scrap, Scrap]] = []
    told: list[str] = []
    for scrap in scraps:
        changed, what = _corrected(scrap, common)
        if what:
            pairs.append((scrap, changed))
            told += what
    done: list[str] = []
    if common.same_as is not None:
        done += _join(store, scraps, _fabric(store, common.same_as).number)
    if not pairs:
        return tuple(done)
    count = "1 scrap" if len(pairs) == 1 else f"{len(pairs)} scraps"
    why = f"{count} ({_listed([scrap.number for scrap, _ in pairs])}): "
    why += ", ".join(dict.fromkeys(told))
    store.keep_together(changed=pairs, why=why)
    return (*done, why)


def name_fabrics(store: Store, numbers: Sequence[int], name: str) -> str:
    """Give the fabrics of many scraps one name, as one change in the history; says what it was.

    Raises
    ------
    NotFoundError
        If there is no such scrap; nothing is changed then.
    """
    wanted = {store.scrap(number).fabric for number in numbers}
    name = name.strip()
    pairs = [
        (fabric, replace(fabric, name=name))
        for fabric in store.fabrics()
        if fabric.number in wanted and fabric.name != name
    ]
    if not pairs:
        return ""
    count = "1 fabric" if len(pairs) == 1 else f"{len(pairs)} fabrics"
    why = f"{count} ({_listed([fabric.number for fabric, _ in pairs])}): "
    why += f"named “{name}”" if name else "no name"
    store.keep_together(renamed=pairs, why=why)
    return why


def _listed(numbers: Sequence[int]) -> str:
    shown = ", ".join(map(str, numbers[:6]))
    return shown if len(numbers) <= 6 else f"{shown} ..."


def _correct_fabric_of(store: Store, scrap: Scrap, correction: Correction) -> tuple[int, list[str]]:
    """Say which fabric the scrap is of from now on, and what was changed for that."""
    done: list[str] = []
    if correction.own_fabric and correction.same_as != scrap.fabric:
        done += _part(store, scrap)
        scrap = store.scrap(scrap.number) if done else scrap
    if correction.same_as is None:
        return scrap.fabric, done
    done += _join(store, [scrap], _fabric(store, correction.same_as).number)
    return store.scrap(scrap.number).fabric, done


def _part(store: Store, scrap: Scrap) -> list[str]:
    if sum(one.fabric == scrap.fabric for one in store.scraps()) == 1:
        return []
    why = f"made scrap {scrap.number} a fabric of its own"
    answer_twins(store, Answers(parted=(scrap.number,)), why=why)
    return [why]


def _join(store: Store, named: Sequence[Scrap], fabric: int) -> list[str]:
    """Count the whole cloth of each named scrap to a fabric: they are one cloth, says the user."""
    joining = {scrap.fabric for scrap in named} - {fabric}
    if not joining:
        return []
    everything = store.scraps()
    target = next(
        (one for one in everything if one.fabric == fabric and one.state is not ScrapState.CUT_UP),
        None,
    )
    if target is None:
        raise MeasureError(
            f"All of fabric {fabric} is cut up; nothing is left of it to compare with."
        )
    whole = tuple(dict.fromkeys([target.number, *(scrap.number for scrap in named)]))
    moved = [one.number for one in everything if one.fabric in joining]
    others = [number for number in moved if number not in whole]
    why = f"{_scraps_are([one for one in moved if one in whole])} of fabric {fabric}"
    if others:
        why += f", and so {_scraps_are(others)}, counted to the same cloth"
    answer_twins(store, Answers(same=(whole,), into=fabric), why=why)
    return [why]


def _scraps_are(numbers: Sequence[int]) -> str:
    one = len(numbers) == 1
    return f"scrap{'' if one else 's'} {_listed(numbers)} {'is' if one else 'are'}"


def _corrected(scrap: Scrap, correction: Correction) -> tuple[Scrap, list[str]]:
    changes: dict[str, object] = {}
    what: list[str] = []
    for field in ("place", "washed", "fibre", "notes", "grain_deg"):
        value = getattr(correction, field)
        if value is not None and value != getattr(scrap, field):
            changes[field] = value
            what.append(_told(field, value))
    if correction.forget_grain and scrap.grain_deg is not None:
        changes["grain_deg"] = None
        what.append("grain not known")
    outline = _corrected_outline(scrap.outline, correction)
    if outline != scrap.outline:
        changes["outline"] = outline
        what.append(f"outline corrected, {outline.area_sq_in:.1f} sq in")
    return replace(scrap, **changes), what  # type: ignore[arg-type]


def _told(field: str, value: object) -> str:
    if field == "washed":
        return "washed" if value else "not washed"
    if field == "grain_deg":
        return f"grain at {value:.0f}°"
    name = "bin" if field == "place" else field
    return f"{name} “{value}”" if value else f"no {name}"


def _corrected_outline(outline: Outline, correction: Correction) -> Outline:
    outline = correction.outline or outline
    if not correction.stains:
        return outline
    left = outline.polygon
    for ring in correction.stains:
        left = left.difference(outline_of(ring).polygon)
    if left.is_empty or left.geom_type != "Polygon":
        raise MeasureError(
            "Without the stain the scrap would fall apart or be gone. Mark a smaller stain, or "
            "give the outline of what is left instead."
        )
    holes = [ring.coords for ring in left.interiors]
    return outline_of(left.exterior.coords, holes, error_in=outline.error_in)


def _correct_names(store: Store, number: int, correction: Correction) -> list[str]:
    fabric = _fabric(store, number)
    name = fabric.name if correction.name is None else correction.name.strip()
    one_way = fabric.one_way if correction.one_way is None else correction.one_way
    if (name, one_way) == (fabric.name, fabric.one_way):
        return []
    told = [f"named “{name}”" if name else "no name"] if name != fabric.name else []
    if one_way != fabric.one_way:
        told.append("one-way print" if one_way else "print runs both ways")
    why = f"fabric {number}: {', '.join(told)}"
    store.change_fabric(replace(fabric, name=name, one_way=one_way), seen=fabric, why=why)
    return [why]


def _fabric(store: Store, number: int) -> Fabric:
    for fabric in store.fabrics():
        if fabric.number == number:
            return fabric
    raise no_fabric(store, number)


def corners_from_words(words: str, *, unit: str = "in") -> list[Point]:
    """Read corners written as ``x,y x,y x,y``, counted from any point, inches unless told.

    Raises
    ------
    MeasureError
        If a corner is not two numbers; repeats it.

    Examples
    --------
    >>> corners_from_words("0,0 5.5,0 0,4")
    [(0.0, 0.0), (5.5, 0.0), (0.0, 4.0)]
    """
    per_unit = parse_length("1", unit=unit)
    corners = []
    for word in words.replace(";", " ").split():
        try:
            x, y = (float(part) * per_unit for part in word.split(","))
        except ValueError:
            raise MeasureError(
                f"“{word}” is no corner; write each as x,y with a space between corners, such as "
                "0,0 5.5,0 5.5,4 0,4."
            ) from None
        corners.append((x, y))
    return corners


def appearance_of_hex(colours: Sequence[str], *, kind: PrintKind = PrintKind.PLAIN) -> Appearance:
    """Make the looks of a fabric whose colours were typed in, in equal shares."""
    labs: list[Lab] = [lab_of_hex(colour) for colour in colours]
    share = 1 / len(labs)
    mean = lab_of_linear(linear_of_lab(labs).mean(axis=0))  # type: ignore[arg-type]
    values = [lab[0] for lab in labs]
    return Appearance(
        reads_as=labs[0] if len(labs) == 1 else (float(mean[0]), float(mean[1]), float(mean[2])),
        colours=tuple(ColourShare(lab, share) for lab in labs),
        kind=kind,
        value_contrast=max(values) - min(values),
        mean_chroma=float(chroma_of(labs).mean()),  # type: ignore[arg-type]
        error_de00=TYPED_COLOUR_ERROR_DE00,
        absolute=True,
    )


def print_kind(word: str) -> PrintKind:
    """Read the kind of a print; raises PaletteError that lists them."""
    try:
        return PrintKind(word)
    except ValueError:
        known = ", ".join(PrintKind)
        raise PaletteError(f"“{word}” is not a kind of print. There are: {known}.") from None


def add_ruled_scrap(
    store: Store, ruled: RuledScrap, *, words: str, count: int = 1
) -> tuple[Scrap, ...]:
    """Keep scraps measured with a ruler, all of one fabric; ``words`` says how the size was given.

    Raises
    ------
    MeasureError
        If neither a colour, a picture nor a fabric is given, or both a colour and a picture.
    NotFoundError
        If there is no such fabric.
    """
    appearance = _looks_of(store, ruled)
    fabric = ruled.fabric
    scraps = []
    for _ in range(count):
        to_log = ScrapToLog(
            outline=ruled.outline,
            appearance=appearance,
            fabric=fabric,
            place=ruled.place,
            washed=ruled.washed,
        )
        if ruled.cloth is not None:
            left, _, _, top = ruled.outline.bounds
            to_log = replace(
                to_log,
                picture_jpeg=ruled.cloth.picture_jpeg,
                px_per_in=ruled.cloth.px_per_in,
                left_in=left,
                top_in=top,
            )
        scraps.append(store.add_scrap(to_log, why=f"added a scrap by ruler ({words})"))
        fabric = scraps[-1].fabric
    if ruled.cloth is not None:
        from stash.usecases.twins.imprints import take_imprints  # loads OpenCV

        take_imprints(store, scraps)
    if ruled.name and ruled.fabric is None:
        cloth = _fabric(store, scraps[0].fabric)
        why = f"fabric {cloth.number}: named “{ruled.name}”"
        store.change_fabric(replace(cloth, name=ruled.name), seen=cloth, why=why)
    return tuple(scraps)


def _looks_of(store: Store, ruled: RuledScrap) -> Appearance:
    if ruled.cloth is not None and ruled.colours:
        raise MeasureError("Give the cloth's colours by a picture or by colours, not both.")
    if ruled.fabric is not None:
        _fabric(store, ruled.fabric)
    if ruled.cloth is not None:
        looks = ruled.cloth.appearance
        return looks if ruled.kind is None else replace(looks, kind=ruled.kind)
    if ruled.fabric is not None:
        sister = next(one for one in store.scraps() if one.fabric == ruled.fabric)
        # Which way the lines run on the new scrap, no ruler tells.
        return replace(sister.appearance, direction_deg=None)
    if ruled.colours:
        return appearance_of_hex(ruled.colours, kind=ruled.kind or PrintKind.PLAIN)
    raise MeasureError(
        "Say what the cloth looks like: by its colours, by a picture of the cloth alone, or by the "
        "number of a fabric already there.",
        at_terminal="That is --colour '#1f3f7a' (as often as it has colours), --picture or "
        "--same-as.",
    )
