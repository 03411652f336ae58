"""Everything that can go wrong for a quilter, as one tree of typed errors.

::

    StashError
    +-- PhotoError         a photo that cannot be used; others of the batch still can
    |   +-- UnreadablePhotoError   EmptyPhotoError, NotAPhotoError, DamagedPhotoError,
    |   |                          TooLargePhotoError, TooSmallPhotoError
    |   +-- CardNotFoundError      CardCoveredError, CardReversedError
    |   +-- CardsDisagreeError
    |   +-- LightError             OverexposedError, UnderexposedError, UnevenLightError
    |   +-- BlurredPhotoError, CalibrationError
    +-- MeasureError       an outline that is no shape
    +-- PaletteError       a palette that says nothing, or an unknown word
    +-- TemplateError      an unknown shape, a size of nothing
    +-- PlanError          a quilt that cannot be described (not one that cannot be made)
    +-- UserFileError      a file the user named cannot be read or written
    +-- StorageError       the stash folder cannot be read or written; the batch stops
        +-- StashMissingError, StashReadOnlyError, StashFullError, StashLockedError,
            StashDamagedError, StashNewerError, FileMissingError, NotEmptyError

Each message says what was seen, where, and what to do next. Leaves carry the facts as
attributes, so that pages and tests need not read the text.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

__all__ = [
    "BackingError",
    "BlurredPhotoError",
    "CalibrationError",
    "CardCoveredError",
    "CardNotFoundError",
    "CardReversedError",
    "CardsDisagreeError",
    "ChangedElsewhereError",
    "DamagedPhotoError",
    "EmptyPhotoError",
    "FileMissingError",
    "HistoryEndError",
    "LightError",
    "MeasureError",
    "NotAPhotoError",
    "NotEmptyError",
    "NotFoundError",
    "OverexposedError",
    "PaletteError",
    "PhotoError",
    "PlanError",
    "PlanUndecidedError",
    "RecordDamagedError",
    "SettingError",
    "StashDamagedError",
    "StashError",
    "StashFullError",
    "StashLockedError",
    "StashMissingError",
    "StashNewerError",
    "StashReadOnlyError",
    "StorageError",
    "TemplateError",
    "TooLargePhotoError",
    "TooSmallPhotoError",
    "UnderexposedError",
    "UnevenLightError",
    "UnitError",
    "UnreadablePhotoError",
    "UserFileError",
    "as_word",
]

_JOINERS = "\u200c\u200d"  # inside emoji and some scripts; harmless
_LONGEST = 1500


class StashError(Exception):
    """Any problem a quilter can mend; its text is one plain sentence.

    What it repeats of a name or a file is shown without control characters, and not endlessly.
    """

    def __str__(self) -> str:
        told = super().__str__()
        text = "".join(sign if sign.isprintable() or sign in _JOINERS else " " for sign in told)
        return text if len(text) <= _LONGEST else f"{text[:800]} … {text[-400:]}"


class PhotoError(StashError):
    """One photo cannot be used; the rest of the batch can."""


class UnreadablePhotoError(PhotoError):
    """A file gives no picture that can be measured.

    Attributes
    ----------
    name : str
        The file's name, as the user knows it.
    """

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        super().__init__(text)


class EmptyPhotoError(UnreadablePhotoError):
    """The file holds nothing."""


class NotAPhotoError(UnreadablePhotoError):
    """The file is something else than a photo: a document, a drawing, raw sensor data."""


class DamagedPhotoError(UnreadablePhotoError):
    """The file is cut off or its contents are broken."""


class TooLargePhotoError(UnreadablePhotoError):
    """The picture has more pixels than a photo of scraps can have."""


class TooSmallPhotoError(UnreadablePhotoError):
    """The picture has too few pixels to measure anything."""


class CardNotFoundError(PhotoError):
    """No reference card can be recognised in the photo.

    Attributes
    ----------
    squares_seen, squares_needed : int
        Patches of the best candidate that were recognised, and how many a card has.
    """

    def __init__(self, text: str, *, squares_seen: int = 0, squares_needed: int = 24) -> None:
        self.squares_seen = squares_seen
        self.squares_needed = squares_needed
        super().__init__(text)


class CardCoveredError(CardNotFoundError):
    """The card is there, but something lies on it or it is cut off by the border."""


class CardReversedError(CardNotFoundError):
    """The card is seen as in a mirror."""


class CardsDisagreeError(PhotoError):
    """Two charts of different size lie in the photo, and nothing tells which one was registered.

    Attributes
    ----------
    times : float
        How many times the size of the other one.
    """

    def __init__(self, text: str, *, times: float) -> None:
        self.times = times
        super().__init__(text)


class LightError(PhotoError):
    """The light on the card does not let colours be known."""


class OverexposedError(LightError):
    """Patches of the card are burnt out.

    Attributes
    ----------
    patches_lost : int
        How many patches are too bright to carry a colour.
    """

    def __init__(self, text: str, *, patches_lost: int = 0) -> None:
        self.patches_lost = patches_lost
        super().__init__(text)


class UnderexposedError(LightError):
    """The card is too dark to tell its patches apart."""


class UnevenLightError(LightError):
    """One side of the photo is much brighter than the other.

    Attributes
    ----------
    ratio : float
        Brightest part of the backing over the darkest.
    """

    def __init__(self, text: str, *, ratio: float) -> None:
        self.ratio = ratio
        super().__init__(text)


class BlurredPhotoError(PhotoError):
    """The photo is out of focus or shaken.

    Attributes
    ----------
    blur_in : float
        Width over which the border of a patch is smeared, inches.
    """

    def __init__(self, text: str, *, blur_in: float) -> None:
        self.blur_in = blur_in
        super().__init__(text)


class BackingError(PhotoError):
    """What the scraps lie on cannot be told from them.

    Attributes
    ----------
    border_share : float
        Share of the photo's border that looks like cloth.
    """

    def __init__(self, message: str, *, border_share: float) -> None:
        self.border_share = border_share
        super().__init__(message)


class CalibrationError(PhotoError):
    """The card's colours do not come out as its reference values say.

    Attributes
    ----------
    error_de00 : float
        Mean error left on the card's own patches, CIEDE2000, leave-one-out.
    """

    def __init__(self, text: str, *, error_de00: float) -> None:
        self.error_de00 = error_de00
        super().__init__(text)


class MeasureError(StashError):
    """An outline is not a shape that can be measured or cut."""


class ChangedElsewhereError(StashError):
    """The same thing was changed in another window or by another command meanwhile."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"{what[:1].upper()}{what[1:]} was changed in another window or by another command "
            "since it was looked at here; that change is kept. Look at it again (on the page, go "
            "back and load it anew), then change it."
        )
        self.what = what


class PaletteError(StashError):
    """A palette says nothing, or says it in a word that is not known."""


class TemplateError(StashError):
    """A template is not known, or its sizes make no shape."""


class UnitError(StashError):
    """A length or an angle was not understood."""


class PlanError(StashError):
    """A quilt is described in a way that cannot be planned."""


class SettingError(PlanError):
    """A shape is asked to lie in rows in a way it cannot."""


class PlanUndecidedError(PlanError):
    """The search for an allotment ended with neither a plan nor a proof that there is none."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        super().__init__(
            f"I could not decide within {seconds:g} seconds whether these scraps make the quilt. "
            "Ask for fewer rows or wider shares."
        )


class StorageError(StashError):
    """The stash folder cannot be read or written.

    Attributes
    ----------
    folder : str
        The folder in question, as given.
    """

    def __init__(self, text: str, *, folder: object = "") -> None:
        self.folder = str(folder)
        super().__init__(text)


class StashMissingError(StorageError):
    """A question was put to a folder that holds no stash."""

    def __init__(self, folder: object) -> None:
        super().__init__(
            f"There is no stash in {folder} yet. Log a photo into it with `stash log`, or name "
            "another folder with --home.",
            folder=folder,
        )


class StashReadOnlyError(StorageError):
    """The folder may be read but not written."""

    def __init__(self, folder: object) -> None:
        super().__init__(
            f"The stash in {folder} can be read but not changed: this user may not write there. "
            "Give yourself write permission, or copy the folder and name the copy with --home.",
            folder=folder,
        )


class StashFullError(StorageError):
    """The disk, or the quota on it, is full; what was logged before is kept.

    Attributes
    ----------
    needed_bytes : int
        What the record that did not fit takes up; 0 when not known.
    """

    def __init__(self, folder: object, *, needed_bytes: int = 0) -> None:
        self.needed_bytes = needed_bytes
        need = f" (about {max(0.1, needed_bytes / 1e6):.1f} MB are needed)" if needed_bytes else ""
        super().__init__(
            f"There is no room left to write in {folder}{need}. What was logged before is kept; "
            "free some space and run the same command again.",
            folder=folder,
        )


class StashLockedError(StorageError):
    """Another program keeps the stash locked.

    Attributes
    ----------
    waited_s : float
        How long was waited for it, seconds.
    """

    def __init__(self, folder: object, *, waited_s: float) -> None:
        self.waited_s = waited_s
        super().__init__(
            f"Another program is writing to the stash in {folder} and did not finish within "
            f"{waited_s:.0f} seconds. Nothing was lost; run the same command again later.",
            folder=folder,
        )


def as_word(path: object) -> str:
    """Write a path so that it is one word of a command that is copied from a message."""
    return f'"{path}"' if " " in str(path) else str(path)


class RecordDamagedError(StorageError):
    """A row of a stash cannot be understood, though the database itself is whole."""

    def __init__(self, what: str) -> None:
        super().__init__(
            f"{what} cannot be read any more. `stash verify` says what is wrong; `stash restore` "
            "brings a backup back into a new folder."
        )
        self.what = what


class StashDamagedError(StorageError):
    """The database file is damaged; it is left untouched.

    Attributes
    ----------
    backup : str
        The newest backup made from this stash, empty when none is known.
    """

    def __init__(self, folder: object, *, backup: str = "") -> None:
        self.backup = backup
        advice = (
            f"The last backup is {backup}: bring it back into an empty folder with "
            f"`stash restore {as_word(backup)} --home NEW_FOLDER`."
            if backup
            else "If you have a backup, bring it back into an empty folder with "
            "`stash restore FILE --home NEW_FOLDER`."
        )
        super().__init__(
            f"The stash in {folder} is damaged and was left untouched. {advice}", folder=folder
        )


class StashNewerError(StorageError):
    """The stash was written by a newer version of this program.

    Attributes
    ----------
    version, known : int
        Schema version of the stash, and the newest this program knows.
    """

    def __init__(self, folder: object, *, version: int, known: int) -> None:
        self.version = version
        self.known = known
        super().__init__(
            f"The stash in {folder} was written by a newer version of this program (it is at "
            f"version {version}, this program knows up to {known}). It was left untouched; "
            "update this program.",
            folder=folder,
        )


class FileMissingError(StorageError):
    """A photo or picture that the stash should hold is not there.

    Attributes
    ----------
    sha256 : str
        Its identity.
    """

    def __init__(self, folder: object, *, sha256: str) -> None:
        self.sha256 = sha256
        super().__init__(
            f"A picture ({sha256[:12]}…) is missing from the stash in {folder}. "
            "`stash verify` lists what is missing; a backup may still hold it.",
            folder=folder,
        )


class NotEmptyError(StorageError):
    """Something is already where a backup, an export or a restored stash should go."""

    def __init__(self, folder: object, *, remedy: str) -> None:
        super().__init__(
            f"{folder} is already there and was left as it is. {remedy}", folder=folder
        )


class UserFileError(StashError):
    """A file that the user named cannot be read or written.

    Attributes
    ----------
    path : Path
        The file.
    """

    def __init__(self, path: Path, text: str) -> None:
        self.path = path
        super().__init__(text)


class NotFoundError(StashError):
    """The stash holds nothing of that name or number.

    Attributes
    ----------
    kind : str
        What was looked for: "scrap", "palette", "card" ...
    name : str
        The name or number given.
    """

    def __init__(self, kind: str, name: str | int, *, hint: str = "") -> None:
        self.kind = kind
        self.name = str(name)
        text = f"There is no {kind} “{name}” in this stash."
        super().__init__(f"{text} {hint}".strip())


class HistoryEndError(NotFoundError):
    """No change is left to be taken back, or done again."""

    def __init__(self, text: str) -> None:
        self.kind, self.name = "change", ""
        StashError.__init__(self, text)
