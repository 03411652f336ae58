"""What the use cases need of a store, whoever provides it."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from stash.colour.appearance import Appearance
from stash.colour.fabric_table import LookColumns
from stash.scrap import CardReport, Fabric, LoggedPhoto, PhotoView, Scrap
from stash.shape.plane.outline import Outline

T = TypeVar("T")

__all__ = [
    "AlikeScraps",
    "AsideFolder",
    "AskedStore",
    "BackupReport",
    "DetailsReport",
    "Document",
    "Finding",
    "HistoryLine",
    "PhotoToLog",
    "RepairReport",
    "SafeStore",
    "ScrapColumns",
    "ScrapOutline",
    "ScrapToLog",
    "Settlement",
    "SizeKey",
    "Store",
    "TwinAnswer",
]


@dataclass(frozen=True, slots=True)
class ScrapToLog:
    """A measured scrap on its way into the stash; ``fabric`` None means a new fabric."""

    outline: Outline
    appearance: Appearance
    picture_jpeg: bytes = b""
    px_per_in: float = 0.0
    left_in: float = 0.0
    top_in: float = 0.0
    fabric: int | None = None
    place: str = ""
    washed: bool = False
    notes: str = ""


@dataclass(frozen=True, slots=True)
class PhotoToLog:
    """A photo with all that was measured on it; logged whole or not at all."""

    sha256: str
    file_name: str
    data: bytes
    suffix: str
    card: CardReport
    warnings: tuple[str, ...]
    scraps: tuple[ScrapToLog, ...]
    view: PhotoView | None = None


@dataclass(frozen=True, slots=True)
class Document:
    """A named record kept as JSON: a card, a palette, a template, a quilt."""

    kind: str
    name: str
    body: Mapping[str, object]


@dataclass(frozen=True, eq=False)
class ScrapColumns:
    """Scraps as columns, by number, without outlines: enough for most questions.

    Attributes
    ----------
    number, fabric : int64, shape (n,)
        The scraps' own numbers and those of their fabrics.
    area : float64, shape (n,)
        Square inches.
    places : tuple of str
        The bins.
    looks : LookColumns
        What they look like.
    """

    number: NDArray[np.int64]
    fabric: NDArray[np.int64]
    area: NDArray[np.float64]
    places: tuple[str, ...]
    looks: LookColumns


@dataclass(frozen=True, slots=True)
class ScrapOutline:
    """What cutting needs of a scrap where turns are free.

    Attributes
    ----------
    outline : Outline
    washed : bool
    digest : bytes
        Follows from these two alone.
    """

    outline: Outline
    washed: bool
    digest: bytes


@dataclass(frozen=True, slots=True)
class SizeKey:
    """What a stored largest size was computed for: template family and rule of turning."""

    family: str
    rule: str


@dataclass(frozen=True, slots=True)
class AlikeScraps:
    """Two scraps that look like one cloth, their fabrics, and how far apart they look.

    ``one`` is the lesser number; ``apart`` is as ``colour.imprint.comparing.apart`` gives it.
    """

    one: int
    other: int
    fabric: int
    other_fabric: int
    apart: float


@dataclass(frozen=True, slots=True)
class TwinAnswer:
    """What a person said of two scraps, the lesser number first, and their fabrics today."""

    one: int
    other: int
    fabric: int
    other_fabric: int
    answer: str


@dataclass(frozen=True, slots=True)
class Settlement:
    """Answers about scraps that may be one cloth, and what follows from them; kept as one change.

    Attributes
    ----------
    seen : tuple of Scrap
        Every scrap concerned, as it was when the answers were given.
    answers : mapping
        For two scraps, the answer before ("" if none) and the answer now.
    moved : mapping
        New fabric by scrap.
    parted : tuple of tuple of int
        Scraps that get a new fabric, together.
    """

    seen: tuple[Scrap, ...]
    answers: Mapping[tuple[int, int], tuple[str, str]]
    moved: Mapping[int, int]
    parted: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One change as the history tells it.

    Attributes
    ----------
    number : int
        Counts up; a later change has a greater number, whatever the clock says.
    at : str
        When, UTC, ISO 8601.
    why : str
        What was done.
    state : str
        "done", "undone", or "final" when it cannot be taken back any more.
    """

    number: int
    at: str
    why: str
    state: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is not as it should be.

    Attributes
    ----------
    kind : str
        "database", "link", "scrap", "record", "missing", "changed", "unreadable", "unknown" or
        "orphan".
    subject : str
        Scrap number, file name or the like.
    text : str
        A sentence for a person.
    """

    kind: str
    subject: str
    text: str


@dataclass(frozen=True, slots=True)
class AsideFolder:
    """Files taken out of the stash and kept for a while.

    Attributes
    ----------
    name : str
        When, UTC; names the folder.
    files : tuple of str
        What lies there, by the place it came from.
    kept_until : str
        The day before which nothing removes it, ISO 8601.
    """

    name: str
    files: tuple[str, ...]
    kept_until: str


@dataclass(frozen=True, slots=True)
class BackupReport:
    """What a backup, a restore, an export or an import moved.

    Attributes
    ----------
    file : str
        The backup file or export folder.
    files : int
        Photos and pictures in it.
    missing : tuple of str
        What the stash should have held but did not, or what was left out.
    size_bytes : int
        Size of the whole.
    written_bytes : int
        What of it had to be written, for a backup.
    telling : int
        Photos in a backup that tell more than their picture: place, time, device.
    """

    file: str
    files: int
    missing: tuple[str, ...]
    size_bytes: int
    written_bytes: int = 0
    telling: int = 0


@dataclass(frozen=True, slots=True)
class DetailsReport:
    """What kept photos tell of place, time and device.

    Attributes
    ----------
    telling : tuple of str
        File names of the photos that tell something.
    taken_off : int
        How many were made plain just now.
    whole : tuple of str
        Photos of kinds from which nothing can be taken safely.
    backups : tuple of str
        The backups that are known of this stash; made before, they hold photos as they were then.
    """

    telling: tuple[str, ...]
    taken_off: int
    whole: tuple[str, ...]
    backups: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RepairReport:
    """What a repair did.

    Attributes
    ----------
    rebuilt : bool
        Whether the database was made anew.
    aside : str
        Where the old one lies, below the stash folder; empty if there was none.
    scraps_from : mapping
        How many scraps came from where, when the database was made anew.
    healed, lost : tuple of str
        Files brought back from a backup, and files nothing holds any more.
    unknown : tuple of str
        Photos that no row knows, by file name below ``photos``; they can be logged again.
    """

    rebuilt: bool
    aside: str
    scraps_from: Mapping[str, int]
    healed: tuple[str, ...]
    lost: tuple[str, ...]
    unknown: tuple[str, ...]


class AskedStore(Protocol):
    """What a question to the stash needs of it."""

    def scraps(self) -> Sequence[Scrap]:
        """Give every scrap that is not deleted, by number."""

    def derived(self, key: Hashable, make: Callable[[], T]) -> T:
        """Give what was made of the records before, or make it; anew once something is written."""

    def fabrics(self) -> Sequence[Fabric]:
        """Give every fabric that has a scrap, by number."""

    def documents(self, kind: str) -> Sequence[Document]:
        """Give all named records of a kind, oldest first."""

    def document(self, kind: str, name: str) -> Document:
        """Give one named record; raises NotFoundError that lists the names there are."""

    def largest_sizes(self, key: SizeKey) -> Mapping[int, float]:
        """Give stored largest finished sizes in inches by scrap number."""

    def keep_largest_sizes(self, key: SizeKey, sizes: Mapping[int, float]) -> None:
        """Store largest finished sizes; forgotten when a scrap's outline changes."""

    def alike(self) -> Sequence[AlikeScraps]:
        """Give the pairs of scraps, neither deleted, that look like one cloth."""

    def twin_answers(self) -> Sequence[TwinAnswer]:
        """Give what was answered of scraps that are not deleted."""

    def columns(self) -> ScrapColumns:
        """Give every scrap that is not deleted and not cut up as columns, by number."""

    def outlines(self) -> Mapping[int, ScrapOutline]:
        """Give the outline of every scrap that is not deleted and not cut up, by number."""

    def kept_answer(self, name: str, key: str, make: Callable[[], bytes]) -> bytes:
        """Give bytes that follow from their key alone, or make them; kept between runs.

        Only the newest key of a name is kept, and it may be forgotten at any time.
        """


class Store(AskedStore, Protocol):
    """A stash that keeps what it is told."""

    def fabrics_joined_from(self, number: int) -> Sequence[int]:
        """Give the fabrics to which scraps once counted to a fabric are counted now."""

    def photo(self, sha256: str) -> LoggedPhoto | None:
        """Give the photo of that identity if it was logged."""

    def photos(self) -> Sequence[LoggedPhoto]:
        """Give all logged photos, oldest first."""

    def log_photo(self, photo: PhotoToLog) -> tuple[Scrap, ...]:
        """Keep the photo and its scraps in one transaction; twice the same is once."""

    def heal_photo(self, sha256: str, data: bytes) -> bool:
        """Put a logged photo's file back if it was lost or changed, and say whether it was."""

    def scrap(self, number: int) -> Scrap:
        """Give one scrap; raises NotFoundError."""

    def change_scrap(self, scrap: Scrap, *, seen: Scrap, why: str) -> None:
        """Write what differs from the record as it was seen, undoably.

        What others have changed meanwhile stays; raises ChangedElsewhereError if it is the same.
        """

    def add_scrap(self, scrap: ScrapToLog, *, why: str, photo: str | None = None) -> Scrap:
        """Keep one scrap more: marked on a logged photo, measured by ruler, left of another."""

    def delete_scrap(self, number: int, *, why: str) -> None:
        """Take a scrap out of sight, undoably."""

    def delete_scraps(self, numbers: Sequence[int], *, why: str) -> None:
        """Take scraps out of sight, all in one undoable change or none."""

    def change_fabric(self, fabric: Fabric, *, seen: Fabric, why: str) -> None:
        """Write what differs from the record as it was seen, undoably, as for a scrap."""

    def join_fabrics(self, keep: int, other: int, *, why: str) -> None:
        """Say that two fabrics are one; the other's scraps become the kept one's."""

    def imprints(self, recipe: int) -> Mapping[int, bytes]:
        """Give the imprints kept of scraps that are not deleted, by scrap number."""

    def keep_imprints(
        self,
        recipe: int,
        features: Mapping[int, bytes],
        pairs: Sequence[tuple[int, int, float]],
    ) -> None:
        """Keep imprints and the look-alikes found with them; forgotten with outline or picture."""

    def settle_twins(self, settled: Settlement, *, why: str) -> None:
        """Keep answers and what follows from them as one change, undoably.

        Raises ChangedElsewhereError if someone else answered otherwise meanwhile.
        """

    def keep_document(self, document: Document, *, seen: Sequence[Document] = (), why: str) -> None:
        """Keep or replace a named record, undoably.

        Raises ChangedElsewhereError if it, or another one it was thought out with, is no longer as
        it was seen.
        """

    def delete_document(self, kind: str, name: str, *, why: str) -> None:
        """Take a named record away, undoably."""

    def keep_together(
        self,
        *,
        changed: Sequence[tuple[Scrap, Scrap]] = (),
        renamed: Sequence[tuple[Fabric, Fabric]] = (),
        begun: Sequence[ScrapToLog] = (),
        records: Sequence[tuple[Document, Document]] = (),
        why: str,
    ) -> tuple[Scrap, ...]:
        """Change scraps and fabrics, begin others, keep records in one change; gives the begun.

        Each scrap, fabric and record is given as it was seen and as it is to be. All of it is
        refused with ChangedElsewhereError if anything to be changed is no longer as it was seen.
        """

    def bin(self) -> Sequence[Scrap]:
        """Give the deleted scraps that can still be brought back."""

    def picture(self, sha256: str) -> bytes:
        """Give the bytes of a kept picture or photo; raises StorageError if missing."""

    def undo(self) -> str:
        """Take back the newest change that is not yet taken back, and say what it was.

        Raises NotFoundError if there is none.
        """

    def redo(self) -> str:
        """Do again what was taken back last, and say what it was.

        Raises NotFoundError if nothing was taken back, or something was changed since.
        """


class SafeStore(Store, Protocol):
    """A stash that can also be looked over and copied."""

    def history(self) -> Sequence[HistoryLine]:
        """Give all changes, newest first."""

    def empty_bin(self) -> int:
        """Remove deleted scraps for good and say how many; what was done before stays done."""

    def check(self, *, mend: bool = False) -> Sequence[Finding]:
        """Look everything over; ``mend`` puts files aside that nothing refers to."""

    def aside(self) -> Sequence[AsideFolder]:
        """Give what was put aside and is still kept, oldest first."""

    def bring_back(self, name: str) -> int:
        """Put the files of one folder that was put aside back in their places; gives how many."""

    def backup(self, target: str, *, replace: bool = False) -> BackupReport:
        """Write everything into one file."""

    def details(self, *, take_off: bool = False) -> DetailsReport:
        """Say what kept photos tell of place, time and device; ``take_off`` makes them plain."""

    def export(self, folder: str, *, with_details: bool = False) -> BackupReport:
        """Write everything into a folder of open files."""

    def take_in(self, folder: str) -> BackupReport:
        """Bring an exported folder into this stash, which must hold nothing."""
