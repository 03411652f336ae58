"""The tables of a stash, as they are at the newest schema version."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

__all__ = [
    "alike",
    "changes",
    "digests",
    "documents",
    "edits",
    "fabrics",
    "imprints",
    "largest_sizes",
    "metadata",
    "photos",
    "scraps",
    "stamp",
    "twin_answers",
]

metadata = MetaData()

# Letters that a person may give: a name fits on a label, notes on a page.
_NAME = {"longest": 120}
_PLACE = {"longest": 200}
_NOTES = {"longest": 10_000}

photos = Table(
    "photos",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("sha256", Text, nullable=False, unique=True),  # identity: the bytes as photographed
    Column("kept_sha256", Text, nullable=False),  # of the kept file; differs once cleaned
    Column("suffix", Text, nullable=False),
    Column("file_name", Text, nullable=False),
    Column("card_kind", Text, nullable=False),
    Column("card_error_de00", Double, nullable=False),
    Column("card_error_worst_de00", Double, nullable=False),
    Column("card_absolute", Boolean, nullable=False),
    Column("warnings", Text, nullable=False),  # JSON list
    Column("view", Text),  # JSON of scrap.PhotoView
    sqlite_autoincrement=True,
)

fabrics = Table(
    "fabrics",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("name", Text, nullable=False, info=_NAME),
    Column("one_way", Boolean, nullable=False),
    Column("notes", Text, nullable=False, info=_NOTES),
    sqlite_autoincrement=True,
)

scraps = Table(
    "scraps",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("fabric", Integer, ForeignKey("fabrics.number"), nullable=False),
    Column("photo", Text, ForeignKey("photos.sha256")),
    Column("deleted", Boolean, nullable=False),
    Column("place", Text, nullable=False, info=_PLACE),
    Column("washed", Boolean, nullable=False),
    Column("fibre", Text, nullable=False, info=_PLACE),
    Column("notes", Text, nullable=False, info=_NOTES),
    Column("grain_deg", Double),
    Column("state", Text, nullable=False),
    Column("outline", LargeBinary, nullable=False),  # packing.pack_outline, inches
    Column("outline_error_in", Double, nullable=False),
    Column("area_sq_in", Double, nullable=False),
    Column("picture", Text),  # sha256 of the JPEG
    Column("px_per_in", Double, nullable=False),
    Column("left_in", Double, nullable=False),
    Column("top_in", Double, nullable=False),
    Column("reads_as_l", Double, nullable=False),
    Column("reads_as_a", Double, nullable=False),
    Column("reads_as_b", Double, nullable=False),
    Column("colours", LargeBinary, nullable=False),  # packing.pack_colours
    Column("kind", Text, nullable=False),
    Column("value_contrast", Double, nullable=False),
    Column("mean_chroma", Double, nullable=False),
    Column("direction_deg", Double),
    Column("repeat_in", Double),
    Column("repeat_sure", Boolean, nullable=False),
    Column("error_de00", Double, nullable=False),
    Column("absolute", Boolean, nullable=False),
    Column("selvage_deg", Double),
    Index("scraps_by_fabric", "fabric"),
    Index("scraps_by_photo", "photo"),
    sqlite_autoincrement=True,
)

documents = Table(
    "documents",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("kind", Text, nullable=False),
    Column("name", Text, nullable=False, info=_NAME),
    Column("body", Text, nullable=False),  # JSON
    UniqueConstraint("kind", "name", name="documents_by_name"),
    sqlite_autoincrement=True,
)

largest_sizes = Table(
    "largest_sizes",
    metadata,
    Column("family", Text, primary_key=True),
    Column("rule", Text, primary_key=True),
    Column(
        "scrap",
        Integer,
        ForeignKey("scraps.number", ondelete="CASCADE"),
        primary_key=True,
        autoincrement=False,
    ),
    Column("size_in", Double, nullable=False),
    Index("largest_sizes_by_scrap", "scrap"),
)

imprints = Table(
    "imprints",
    metadata,
    Column(
        "scrap",
        Integer,
        ForeignKey("scraps.number", ondelete="CASCADE"),
        primary_key=True,
        autoincrement=False,
    ),
    Column("recipe", Integer, nullable=False),  # imprint.layout.RECIPE it was made by
    Column("features", LargeBinary, nullable=False),  # float32
)

# Pairs of scraps that look like one cloth, as far apart as their imprints are; one < other.
alike = Table(
    "alike",
    metadata,
    *(
        Column(
            name,
            Integer,
            ForeignKey("scraps.number", ondelete="CASCADE"),
            primary_key=True,
            autoincrement=False,
        )
        for name in ("one", "other")
    ),
    Column("apart", Double, nullable=False),
    Index("alike_by_other", "other"),
)

twin_answers = Table(
    "twin_answers",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("one", Integer, ForeignKey("scraps.number", ondelete="CASCADE"), nullable=False),
    Column("other", Integer, ForeignKey("scraps.number", ondelete="CASCADE"), nullable=False),
    Column("answer", Text, nullable=False),  # same, different, not sure
    UniqueConstraint("one", "other", name="twin_answers_by_pair"),
    Index("twin_answers_by_other", "other"),
    sqlite_autoincrement=True,
)

changes = Table(
    "changes",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("at", Text, nullable=False),  # UTC, ISO 8601; shown, never sorted by
    Column("why", Text, nullable=False),
    Column("state", Text, nullable=False),  # done, undone, final
    sqlite_autoincrement=True,
)

edits = Table(
    "edits",
    metadata,
    Column("change", Integer, ForeignKey("changes.number"), primary_key=True, autoincrement=False),
    Column("step", Integer, primary_key=True, autoincrement=False),
    Column("on_table", Text, nullable=False),
    Column("row_number", Integer, nullable=False),
    Column("before", Text),  # JSON; null where the row began
    Column("after", Text),  # JSON; null where the row ended, or begins and is still as it began
)

digests = Table(
    "digests",
    metadata,
    Column("on_table", Text, primary_key=True),
    Column("row_key", Text, primary_key=True),  # JSON list of the primary key
    Column("digest", Text, nullable=False),
)

stamp = Table(
    "stamp",
    metadata,
    Column("only", Integer, primary_key=True, autoincrement=False),
    Column("changes", Integer, nullable=False),  # goes up with every write: readers' caches
)
