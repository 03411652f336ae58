"""Problems of the stash folder: the batch stops."""

from __future__ import annotations

from stash.errors.problem import StashError

__all__ = [
    "FileMissingError",
    "NotEmptyError",
    "RecordDamagedError",
    "StashDamagedError",
    "StashFullError",
    "StashLockedError",
    "StashLostError",
    "StashMissingError",
    "StashNewerError",
    "StashReadOnlyError",
    "StashReplacedError",
    "StorageError",
    "as_word",
]


class StorageError(StashError):
    """The stash folder cannot be read or written.

    Attributes
    ----------
    folder : str
        The folder in question, as given.
    """

    def __init__(self, text: str, *, folder: object = "", at_terminal: str = "") -> None:
        self.folder = str(folder)
        super().__init__(text, at_terminal=at_terminal)


class StashMissingError(StorageError):
    """A question was put to a folder that holds no stash."""

    def __init__(self, folder: object) -> None:
        super().__init__(
            f"There is no stash in {folder} yet.",
            folder=folder,
            at_terminal="Log a photo into it with `stash log`, or name another folder with --home.",
        )


class StashReadOnlyError(StorageError):
    """The folder may be read but not written."""

    def __init__(self, folder: object) -> None:
        super().__init__(
            f"The stash in {folder} can be read but not changed: this user may not write there. "
            "Give yourself write permission, or use a copy of the folder.",
            folder=folder,
            at_terminal="The copy is named with --home.",
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
            f"{what} cannot be read any more.",
            at_terminal="`stash verify` says what is wrong; `stash restore` brings a backup back "
            "into a new folder.",
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
            f"The last backup is {backup}: bring it back into an empty folder."
            if backup
            else "If you have a backup, bring it back into an empty folder."
        )
        super().__init__(
            f"The stash in {folder} is damaged and was left untouched. {advice}",
            folder=folder,
            at_terminal=f"That does `stash restore {as_word(backup) or 'FILE'} --home NEW_FOLDER`; "
            "`stash repair` rebuilds it in its place from all that can still be read.",
        )


class StashLostError(StashDamagedError):
    """The database is empty or gone although photos lie beside where it should be.

    Attributes
    ----------
    files : int
        Photos and pictures that are there.
    """

    def __init__(self, folder: object, *, how: str, files: int, backup: str = "") -> None:
        self.backup = backup
        self.files = files
        beside = f", although {files} photos and pictures lie beside it" if files else ""
        last = f" (the last one made is {backup})" if backup else ""
        StorageError.__init__(
            self,
            f"The database of the stash in {folder} is {how}{beside}. Nothing was changed. "
            f"It can be rebuilt from what is there and from a backup{last}.",
            folder=folder,
            at_terminal="That does `stash repair`.",
        )


class StashReplacedError(StorageError):
    """The database that was opened is no longer the one in the folder."""

    def __init__(self, folder: object) -> None:
        super().__init__(
            f"The stash in {folder} was replaced or taken away while it was in use. Nothing was "
            "written. Close what uses it, such as the page, and start that again.",
            folder=folder,
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
            f"A picture ({sha256[:12]}…) is missing from the stash in {folder}; "
            "a backup may still hold it.",
            folder=folder,
            at_terminal="`stash verify` lists what is missing.",
        )


class NotEmptyError(StorageError):
    """Something is already where a backup, an export or a restored stash should go."""

    def __init__(self, folder: object, *, remedy: str, at_terminal: str = "") -> None:
        super().__init__(
            f"{folder} is already there and was left as it is. {remedy}",
            folder=folder,
            at_terminal=at_terminal,
        )
