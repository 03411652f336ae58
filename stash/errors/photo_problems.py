"""Problems of one photo: the rest of the batch can go on."""

from __future__ import annotations

from typing import ClassVar

from stash.errors.problem import StashError

__all__ = [
    "AnotherCardError",
    "BackingError",
    "BlurredPhotoError",
    "CalibrationError",
    "CardCoveredError",
    "CardCutOffError",
    "CardGlareError",
    "CardNotFoundError",
    "CardReversedError",
    "CardsDisagreeError",
    "DamagedPhotoError",
    "EmptyPhotoError",
    "LightError",
    "NotAPhotoError",
    "OverexposedError",
    "PhotoError",
    "TooLargePhotoError",
    "TooSmallPhotoError",
    "UnderexposedError",
    "UnevenLightError",
    "UnreadablePhotoError",
]


class PhotoError(StashError):
    """One photo cannot be used; the rest of the batch can.

    Attributes
    ----------
    cause : str
        A stable word or two for programs, of ``CAUSES``; the sentence is for people.
    """

    cause: ClassVar[str] = "not a photo"


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

    cause = "no card"

    def __init__(
        self,
        text: str,
        *,
        squares_seen: int = 0,
        squares_needed: int = 24,
        at_terminal: str = "",
    ) -> None:
        self.squares_seen = squares_seen
        self.squares_needed = squares_needed
        super().__init__(text, at_terminal=at_terminal)


class CardCoveredError(CardNotFoundError):
    """The card is there, but something lies on it."""

    cause = "card covered"


class CardCutOffError(CardNotFoundError):
    """The card reaches over the border of the photo."""

    cause = "card cut off"


class CardGlareError(CardNotFoundError):
    """A lamp or window is mirrored in the card."""

    cause = "glare"


class AnotherCardError(CardNotFoundError):
    """A card with as many squares, but in another order than the common chart."""

    cause = "another card"


class CardReversedError(CardNotFoundError):
    """The card is seen as in a mirror."""

    cause = "another card"


class CardsDisagreeError(PhotoError):
    """Two charts of different size lie in the photo, and nothing tells which one was registered.

    Attributes
    ----------
    times : float
        How many times the size of the other one.
    """

    cause = "another card"

    def __init__(self, text: str, *, times: float) -> None:
        self.times = times
        super().__init__(text)


class LightError(PhotoError):
    """The light on the card does not let colours be known."""

    cause = "card colours"


class OverexposedError(LightError):
    """Patches of the card are burnt out.

    Attributes
    ----------
    patches_lost : int
        How many patches are too bright to carry a colour.
    """

    cause = "overexposed"

    def __init__(self, text: str, *, patches_lost: int = 0) -> None:
        self.patches_lost = patches_lost
        super().__init__(text)


class UnderexposedError(LightError):
    """The card is too dark to tell its patches apart."""

    cause = "underexposed"


class UnevenLightError(LightError):
    """One side of the photo is much brighter than the other.

    Attributes
    ----------
    ratio : float
        Brightest part of the backing over the darkest.
    """

    cause = "uneven light"

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

    cause = "blurred"

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

    cause = "backing"

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

    cause = "card colours"

    def __init__(self, text: str, *, error_de00: float) -> None:
        self.error_de00 = error_de00
        super().__init__(text)
