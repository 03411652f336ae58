"""Photograph and log scraps: one photo's bytes in, one line of the log out."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import TYPE_CHECKING, Literal

from stash.errors import BackingError, MeasureError, NoCardError, PhotoError
from stash.scrap import CardReport, PhotoView, Scrap
from stash.shape.plane.outline import Ring
from stash.usecases.ports import PhotoToLog, ScrapToLog, Store
from stash.usecases.twins.imprints import take_imprints
from stash.usecases.twins.same_fabric import Alike, alike_to

if TYPE_CHECKING:
    from stash.photo.cards.card import Card
    from stash.photo.measuring import MeasuredPhoto

__all__ = [
    "LogOptions",
    "PhotoOutcome",
    "ToKeep",
    "already_logged",
    "cards_to_use",
    "identity_of",
    "keep_measured",
    "log_photo",
    "measure",
    "measure_to_keep",
    "view_of",
]

Status = Literal["logged", "already logged", "refused"]


@dataclass(frozen=True, slots=True)
class LogOptions:
    """What the quilter says about the scraps on the photos.

    Attributes
    ----------
    place : str
        The bin they go to.
    washed : bool
        Whether the cloth has been washed and will shrink no more.
    plain_backing : bool
        Whether what lies under the scraps is plain: only then does it show how the light falls.
    corners_px : tuple of Ring
        Scraps marked by hand, corners in pixels of the upright photo; then none is looked for.
    corner_line_in : float or None
        What a ruler says of the 6-inch line on the sheet of loose corner markers.
    scan : bool
        Whether they are flatbed scans: then the file tells inches and colours, and no card.
    with_details : bool
        Whether the kept file still tells place, time and device; its pixels are the same.

    Raises
    ------
    MeasureError
        If no printer makes that of the line.
    """

    place: str = ""
    washed: bool = False
    plain_backing: bool = True
    corners_px: tuple[Ring, ...] = ()
    corner_line_in: float | None = None
    scan: bool = False
    with_details: bool = True

    def __post_init__(self) -> None:
        """Refuse a line that was misread before any photo is measured by it."""
        if self.corner_line_in is not None and not 5 <= self.corner_line_in <= 7:
            raise MeasureError(
                "The line on the sheet of corner markers is printed 6 in long and cannot measure "
                f"{self.corner_line_in:g} in. Measure it again, or print the sheet at 100 %."
            )


@dataclass(frozen=True, slots=True)
class PhotoOutcome:
    """What became of one photo.

    Attributes
    ----------
    file : str
        The name it came under.
    status : str
        ``logged``, ``already logged`` or ``refused``.
    reason : str
        Why it was refused, and what to do.
    cause : str
        The same for programs, a stable word or two (``PhotoError.cause``); empty if logged.
    card, scraps
        What was measured, for a logged photo.
    warnings : tuple of str
        What makes it less sure; of a refused photo what was odd about the file.
    sha256 : str
        Identity of the photo's bytes; empty when they were not read.
    cut_off : int
        Scraps that the picture's border cuts off: seen, not measured.
    alike : mapping
        For a fresh scrap's number the fabrics already here that look like it.
    tells_more : bool
        Whether its file was kept with what it tells of place, time and device.
    """

    file: str
    status: Status
    reason: str = ""
    card: CardReport | None = None
    scraps: tuple[Scrap, ...] = ()
    warnings: tuple[str, ...] = ()
    sha256: str = ""
    cut_off: int = 0
    alike: Mapping[int, tuple[Alike, ...]] = field(default_factory=dict)
    cause: str = ""
    tells_more: bool = False


def cards_to_use(store: Store, name: str | None) -> tuple[Card, ...]:
    """Give the cards to look for: the one named, or the newest.

    Raises
    ------
    NotFoundError
        If none of that name is registered; as NoCardError if none is at all.
    """
    from stash.photo.cards.card import card_of  # loads the picture libraries

    if name is not None:
        return (card_of(name, store.document("card", name).body),)
    known = store.documents("card")
    if not known:
        raise NoCardError
    newest = known[-1]
    return (card_of(newest.name, newest.body),)


def measure(
    data: bytes, *, file_name: str, cards: Sequence[Card], options: LogOptions
) -> MeasuredPhoto | PhotoOutcome:
    """Measure a photo, or say why not; pure work that may run in another process."""
    from stash.photo.cards.corner_marker import LoosePrint  # loads cv2
    from stash.photo.cards.known_sheet import SHEETS
    from stash.photo.files.reading import read_photo
    from stash.photo.measuring import (  # loads cv2 and sklearn
        MeasureOptions,
        measure_beside_sheet,
        measure_photo,
        measure_scan,
    )

    told: tuple[str, ...] = ()
    try:
        photo = read_photo(data, name=file_name)
        told = photo.warnings
        if options.scan:
            return measure_scan(photo, corners_px=options.corners_px)
        if cards and (sheet := SHEETS.get(cards[0].kind)):
            return measure_beside_sheet(photo, sheet, corners_px=options.corners_px)
        line_in = options.corner_line_in
        printed = LoosePrint() if line_in is None else LoosePrint.of_line(line_in)
        look = MeasureOptions(options.plain_backing, options.corners_px, printed)
        return measure_photo(photo, cards, options=look)
    except (PhotoError, MeasureError) as problem:
        cause = problem.cause if isinstance(problem, PhotoError) else BackingError.cause
        return PhotoOutcome(file_name, "refused", reason=problem.plain, warnings=told, cause=cause)


@dataclass(frozen=True, slots=True)
class ToKeep:
    """A measured photo as it is kept: records alone, which no picture library is loaded for.

    Attributes
    ----------
    photo : PhotoToLog
    cut_off : int
        As in ``PhotoOutcome``.
    tells_more : bool
        As in ``PhotoOutcome``.
    """

    photo: PhotoToLog
    cut_off: int
    tells_more: bool = False


def identity_of(data: bytes) -> str:
    """Give what a photo is known by: the sha256 of its bytes."""
    return hashlib.sha256(data).hexdigest()


def measure_to_keep(
    data: bytes, sha256: str, file_name: str, cards: Sequence[Card], options: LogOptions
) -> ToKeep | PhotoOutcome:
    """Measure a photo and make it ready to be kept; pure work, as ``measure`` is."""
    measured = measure(data, file_name=file_name, cards=cards, options=options)
    if isinstance(measured, PhotoOutcome):
        return measured
    scraps = tuple(
        ScrapToLog(
            outline=scrap.outline,
            appearance=scrap.appearance,
            picture_jpeg=scrap.picture_jpeg,
            px_per_in=scrap.px_per_in,
            left_in=scrap.left_in,
            top_in=scrap.top_in,
            place=options.place,
            washed=options.washed,
            notes=scrap.notes,
        )
        for scrap in measured.scraps
    )
    warnings = (*measured.warnings, *measured.notes)
    more = options.with_details and _tells_more(data)
    if not options.with_details:
        data, told = _without_details(data)
        warnings += told
    photo = PhotoToLog(
        sha256=sha256,
        file_name=PurePath(file_name).name,
        data=data,
        suffix=PurePath(file_name).suffix.lower(),
        card=measured.card,
        warnings=warnings,
        scraps=scraps,
        view=view_of(measured),
    )
    return ToKeep(photo, measured.cut_off, more)


def keep_measured(store: Store, measured: ToKeep, *, file_name: str) -> PhotoOutcome:
    """Store a measured photo whole, in one transaction."""
    kept = store.log_photo(measured.photo)
    take_imprints(store, kept)
    return PhotoOutcome(
        file_name,
        "logged",
        card=measured.photo.card,
        scraps=kept,
        warnings=measured.photo.warnings,
        sha256=measured.photo.sha256,
        cut_off=measured.cut_off,
        alike=alike_to(store, kept),
        tells_more=measured.tells_more,
    )


def _tells_more(data: bytes) -> bool:
    from stash.photo.files.private_details import tells_more  # loads Pillow

    return tells_more(data)


def _without_details(data: bytes) -> tuple[bytes, tuple[str, ...]]:
    from stash.photo.files.private_details import without_details  # loads Pillow

    plain = without_details(data)
    if plain is None:
        return data, ("place and device cannot be taken off a file of this kind: it is kept whole",)
    return plain, ()


def view_of(measured: MeasuredPhoto) -> PhotoView:
    """Give where the table lies in a measured photo."""
    plane = measured.plane
    return PhotoView(
        image_from_inches=tuple(float(value) for value in plane.image_from_inches.ravel()),
        middle_px=(float(plane.middle_px[0]), float(plane.middle_px[1])),
        radius_px=float(plane.radius_px),
        radial=float(plane.radial),
    )


def already_logged(
    store: Store, data: bytes, sha256: str, *, file_name: str
) -> PhotoOutcome | None:
    """Give the outcome of a photo that is in the stash already, or None; a lost copy is healed."""
    logged = store.photo(sha256)
    if logged is None:
        return None
    scraps = tuple(scrap for scrap in store.scraps() if scrap.photo == sha256)
    healed = ("its copy in the stash was lost or changed, and is whole again",)
    return PhotoOutcome(
        file_name,
        "already logged",
        card=logged.card,
        scraps=scraps,
        warnings=(*logged.warnings, *(healed if store.heal_photo(sha256, data) else ())),
        sha256=sha256,
    )


def log_photo(
    store: Store, data: bytes, *, file_name: str, cards: Sequence[Card], options: LogOptions
) -> PhotoOutcome:
    """Log one photo: nothing of it is kept unless all of it is.

    Raises
    ------
    StorageError
        If the stash cannot be written; then the rest of a batch stops too.
    """
    sha256 = identity_of(data)
    known = already_logged(store, data, sha256, file_name=file_name)
    if known is not None:
        return known
    measured = measure_to_keep(data, sha256, file_name, cards, options)
    if isinstance(measured, PhotoOutcome):
        return measured
    return keep_measured(store, measured, file_name=file_name)
