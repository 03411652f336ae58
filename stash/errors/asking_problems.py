"""Problems of what was asked, named or typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stash.errors.problem import StashError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = [
    "ChangedElsewhereError",
    "HistoryEndError",
    "MeasureError",
    "NameTakenError",
    "NoCardError",
    "NotFoundError",
    "PaletteError",
    "PlanError",
    "PlanUndecidedError",
    "ScrapNumbersError",
    "SettingError",
    "SettingValueError",
    "SettingsFileError",
    "TemplateError",
    "TooLongError",
    "TwinsError",
    "UnitError",
    "UserFileError",
]


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


class TwinsError(StashError):
    """What was answered of scraps that may be one cloth cannot hold.

    Attributes
    ----------
    scraps : tuple of int
        The scraps it is about.
    """

    def __init__(self, text: str, *, scraps: tuple[int, ...] = (), at_terminal: str = "") -> None:
        self.scraps = scraps
        super().__init__(text, at_terminal=at_terminal)


class PaletteError(StashError):
    """A palette says nothing, or says it in a word that is not known."""


class NameTakenError(StashError):
    """Something of that name is kept already, and would be written over."""

    def __init__(self, kind: str, name: str) -> None:
        super().__init__(
            f"There is a {kind} “{name}” already. Give another name, or say that this one takes "
            "its place."
        )


class TooLongError(StashError):
    """A name or a note has more letters than are kept."""

    def __init__(self, what: str, letters: int, most: int) -> None:
        super().__init__(
            f"A {what} of {letters:,} letters is too long: at most {most:,} are kept. Make it "
            "shorter; nothing was changed."
        )
        self.what = what
        self.most = most


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

    def __init__(self) -> None:
        super().__init__(
            "I could not find out in a reasonable number of steps how these scraps make the quilt. "
            "Ask for fewer rows or wider shares."
        )


class ScrapNumbersError(StashError):
    """Numbers of scraps were not understood."""

    def __init__(self, part: str) -> None:
        super().__init__(
            f"“{part}” does not name scraps; write their numbers and ranges, such as 12 or 1,3,7-9."
        )
        self.part = part


class SettingValueError(StashError):
    """A setting that there is not, or a value that it cannot have."""


class SettingsFileError(StashError):
    """The file of settings cannot be read, understood or written."""

    def __init__(self, path: Path, what: str) -> None:
        super().__init__(
            f"The settings in {path} do not hold: {what}. Put the file right or delete it, or set "
            "anew what is in it.",
            at_terminal="That is done with: stash settings NAME=VALUE.",
        )
        self.path = path


class UserFileError(StashError):
    """A file that the user named cannot be read or written.

    Attributes
    ----------
    path : Path
        The file.
    """

    def __init__(self, path: Path, text: str, *, at_terminal: str = "") -> None:
        self.path = path
        super().__init__(text, at_terminal=at_terminal)


class NotFoundError(StashError):
    """The stash holds nothing of that name or number.

    Attributes
    ----------
    kind : str
        What was looked for: "scrap", "palette", "card" ...
    name : str
        The name or number given.
    """

    def __init__(
        self, kind: str, name: str | int, *, hint: str = "", at_terminal: str = ""
    ) -> None:
        self.kind = kind
        self.name = str(name)
        text = f"There is no {kind} “{name}” in this stash."
        super().__init__(f"{text} {hint}".strip(), at_terminal=at_terminal)


class NoCardError(NotFoundError):
    """No reference card is registered yet, so no photo can be measured."""

    def __init__(self) -> None:
        self.kind, self.name = "card", ""
        text = (
            "This stash knows no reference card yet, and a photo gets its colours and inches from "
            "one. Say which lies beside your scraps: a chart of 24 squares, a card printed here, "
            "or a sheet of paper or bank card for inches and rough colours."
        )
        StashError.__init__(
            self,
            text,
            at_terminal="That is: stash card add NAME --kind chart24 --pitch INCHES (between the "
            "middles of its squares), or --kind a4, letter or bank-card; stash card print FILE "
            "draws one.",
        )


class HistoryEndError(NotFoundError):
    """No change is left to be taken back, or done again."""

    def __init__(self, text: str) -> None:
        self.kind, self.name = "change", ""
        StashError.__init__(self, text)
