"""Records compared with what the asker saw, in the transaction that writes them."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import Connection, select

from stash.errors import ChangedElsewhereError, NotFoundError
from stash.scrap import Fabric, Scrap
from stash.storage.records import fabric_of, scrap_row
from stash.storage.scrap_rows import need_fabric, one_scrap
from stash.storage.tables import fabrics

__all__ = ["fabric_values", "scrap_values"]

_Row = Mapping[str, object]
# What a person changes as one thing, in the user's words.
_OF_SCRAP = {
    "fabric": ("fabric",),
    "bin": ("place",),
    "washing": ("washed",),
    "fibre": ("fibre",),
    "notes": ("notes",),
    "grain": ("grain_deg",),
    "state": ("state",),
    "outline": ("outline", "outline_error_in", "area_sq_in"),
    "photo": ("photo",),
    "picture": ("picture", "px_per_in", "left_in", "top_in"),
    "look": (
        "reads_as_l", "reads_as_a", "reads_as_b", "colours", "kind", "value_contrast",
        "mean_chroma", "direction_deg", "repeat_in", "repeat_sure", "error_de00", "absolute",
        "selvage_deg",
    ),
}  # fmt: skip
_OF_FABRIC = {"name": ("name",), "way of the print": ("one_way",), "notes": ("notes",)}


def scrap_values(
    connection: Connection, seen: Scrap, wanted: Scrap, *, alone: bool = False
) -> dict[str, object]:
    """Give the columns of a scrap to write: those that the asker changed and that still differ.

    Parameters
    ----------
    connection : Connection
        In the write transaction, so that nobody comes between.
    seen, wanted : Scrap
        As the asker saw it, and as it is to be.
    alone : bool
        Refuse also what someone else has changed to the very same: pieces are cut only once.

    Raises
    ------
    ChangedElsewhereError
        If what the asker changed is no longer as it was seen.
    NotFoundError
        If the scrap or its fabric is gone.
    """
    now = one_scrap(connection, wanted.number)
    need_fabric(connection, wanted.fabric)
    rows = (scrap_row(now), scrap_row(seen), scrap_row(wanted))
    return _to_write(_OF_SCRAP, f"scrap {wanted.number}", *rows, alone=alone)


def fabric_values(connection: Connection, seen: Fabric, wanted: Fabric) -> dict[str, object]:
    """Give the columns of a fabric to write, as ``scrap_values`` does of a scrap."""
    row = connection.execute(select(fabrics).where(fabrics.c.number == wanted.number)).first()
    if row is None:
        raise NotFoundError("fabric", wanted.number)
    rows = (_fabric_row(fabric_of(row)), _fabric_row(seen), _fabric_row(wanted))
    return _to_write(_OF_FABRIC, f"fabric {wanted.number}", *rows)


def _fabric_row(fabric: Fabric) -> _Row:
    return {"name": fabric.name, "one_way": fabric.one_way, "notes": fabric.notes}


def _to_write(
    parts: Mapping[str, tuple[str, ...]],
    whose: str,
    now: _Row,
    seen: _Row,
    wanted: _Row,
    *,
    alone: bool = False,
) -> dict[str, object]:
    values: dict[str, object] = {}
    for part, columns in parts.items():
        is_now, was, then = ([row[name] for name in columns] for row in (now, seen, wanted))
        if then == was or (then == is_now and not alone):
            continue
        if is_now != was:
            raise ChangedElsewhereError(f"the {part} of {whose}")
        values.update(zip(columns, then, strict=True))
    return values
