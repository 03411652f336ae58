"""Everything that can go wrong for a quilter, as one tree of typed errors.

::

    StashError
    +-- PhotoError             a photo that cannot be used; others of the batch still can
    |   +-- UnreadablePhotoError   EmptyPhotoError, NotAPhotoError, DamagedPhotoError,
    |   |                          TooLargePhotoError, TooSmallPhotoError
    |   +-- CardNotFoundError      CardCoveredError, CardCutOffError, CardGlareError,
    |   |                          AnotherCardError, CardReversedError
    |   +-- CardsDisagreeError, BackingError
    |   +-- LightError             OverexposedError, UnderexposedError, UnevenLightError
    |   +-- BlurredPhotoError, CalibrationError
    +-- StorageError           the stash folder cannot be read or written; the batch stops
    |   +-- StashMissingError, StashReadOnlyError, StashFullError, StashLockedError
    |   +-- StashDamagedError      StashLostError
    |   +-- StashNewerError, StashReplacedError, RecordDamagedError, FileMissingError,
    |       NotEmptyError
    +-- UnitError              a length or an angle that was not understood
    +-- MeasureError           an outline that is no shape
    +-- PaletteError           a palette that says nothing, or an unknown word
    +-- TemplateError          an unknown shape, a size of nothing
    +-- PlanError              a quilt that cannot be described (not one that cannot be made)
    |   +-- SettingError, PlanUndecidedError
    +-- NotFoundError          no scrap, palette, card ... of that name
    |   +-- HistoryEndError, NoCardError
    +-- ChangedElsewhereError  somebody else changed the same thing meanwhile
    +-- TooLongError           a name or a note of more letters than are kept
    +-- ScrapNumbersError      which scraps are meant was not understood
    +-- SettingValueError      a setting that there is not, or a value it cannot have
    +-- SettingsFileError      the settings cannot be read, understood or written
    +-- TwinsError             answers about what may be one cloth that cannot hold
    +-- UserFileError          a file the user named cannot be read or written

Each message says what was seen, where, and what to do next. Leaves carry the facts as
attributes, so that pages and tests need not read the text.
"""

from stash.errors.asking_problems import (
    ChangedElsewhereError,
    HistoryEndError,
    MeasureError,
    NameTakenError,
    NoCardError,
    NotFoundError,
    PaletteError,
    PlanError,
    PlanUndecidedError,
    ScrapNumbersError,
    SettingError,
    SettingsFileError,
    SettingValueError,
    TemplateError,
    TooLongError,
    TwinsError,
    UnitError,
    UserFileError,
)
from stash.errors.photo_problems import (
    AnotherCardError,
    BackingError,
    BlurredPhotoError,
    CalibrationError,
    CardCoveredError,
    CardCutOffError,
    CardGlareError,
    CardNotFoundError,
    CardReversedError,
    CardsDisagreeError,
    DamagedPhotoError,
    EmptyPhotoError,
    LightError,
    NotAPhotoError,
    OverexposedError,
    PhotoError,
    TooLargePhotoError,
    TooSmallPhotoError,
    UnderexposedError,
    UnevenLightError,
    UnreadablePhotoError,
)
from stash.errors.problem import (
    StashError,
)
from stash.errors.storage_problems import (
    FileMissingError,
    NotEmptyError,
    RecordDamagedError,
    StashDamagedError,
    StashFullError,
    StashLockedError,
    StashLostError,
    StashMissingError,
    StashNewerError,
    StashReadOnlyError,
    StashReplacedError,
    StorageError,
    as_word,
)

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
    "ChangedElsewhereError",
    "DamagedPhotoError",
    "EmptyPhotoError",
    "FileMissingError",
    "HistoryEndError",
    "LightError",
    "MeasureError",
    "NameTakenError",
    "NoCardError",
    "NotAPhotoError",
    "NotEmptyError",
    "NotFoundError",
    "OverexposedError",
    "PaletteError",
    "PhotoError",
    "PlanError",
    "PlanUndecidedError",
    "RecordDamagedError",
    "ScrapNumbersError",
    "SettingError",
    "SettingValueError",
    "SettingsFileError",
    "StashDamagedError",
    "StashError",
    "StashFullError",
    "StashLockedError",
    "StashLostError",
    "StashMissingError",
    "StashNewerError",
    "StashReadOnlyError",
    "StashReplacedError",
    "StorageError",
    "TemplateError",
    "TooLargePhotoError",
    "TooLongError",
    "TooSmallPhotoError",
    "TwinsError",
    "UnderexposedError",
    "UnevenLightError",
    "UnitError",
    "UnreadablePhotoError",
    "UserFileError",
    "as_word",
]
