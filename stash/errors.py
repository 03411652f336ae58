"""Everything that can go wrong for a quilter, as one tree of typed errors.

::

    StashError
    +-- PhotoError         a photo that cannot be used; others of the batch still can
    |   +-- UnreadablePhotoError, CardNotFoundError, LightError, ...
    +-- MeasureError       an outline that is no shape
    +-- PaletteError       a palette that says nothing, or an unknown word
    +-- TemplateError      an unknown shape, a size of nothing
    +-- PlanError          a quilt that cannot be described (not one that cannot be made)
    +-- StorageError       the stash folder cannot be read or written; the batch stops

Each message says what was seen, where, and what to do next. Leaves carry the facts as
attributes, so that pages and tests need not read the text.
"""

from __future__ import annotations

__all__ = [
    "MeasureError",
    "NotFoundError",
    "PaletteError",
    "PhotoError",
    "PlanError",
    "StashError",
    "StorageError",
    "TemplateError",
    "UnitError",
]


class StashError(Exception):
    """Any problem a quilter can mend; its text is one plain sentence."""


class PhotoError(StashError):
    """One photo cannot be used; the rest of the batch can."""


class MeasureError(StashError):
    """An outline is not a shape that can be measured or cut."""


class PaletteError(StashError):
    """A palette says nothing, or says it in a word that is not known."""


class TemplateError(StashError):
    """A template is not known, or its sizes make no shape."""


class UnitError(StashError):
    """A length or an angle was not understood."""


class PlanError(StashError):
    """A quilt is described in a way that cannot be planned."""


class StorageError(StashError):
    """The stash folder cannot be read or written."""


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
