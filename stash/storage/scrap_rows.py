"""Rows of photos, scraps and fabrics: found, begun, one step at a time."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Select, select

from stash.errors import NotFoundError
from stash.scrap import Scrap
from stash.storage.change_log import Change
from stash.storage.picture_files import plain_suffix, sha256_of
from stash.storage.records import SCRAP_COLUMNS, new_scrap_row, photo_row, scraps_of
from stash.storage.tables import fabrics, photos, scraps
from stash.usecases.ports import PhotoToLog, ScrapToLog

__all__ = [
    "begin_fabric",
    "begin_photo",
    "begin_scrap",
    "living_scraps",
    "need_fabric",
    "one_scrap",
]


def living_scraps() -> Select[Any]:
    """Select the scraps that are not deleted, by number."""
    return select(*SCRAP_COLUMNS).where(~scraps.c.deleted).order_by(scraps.c.number)


def one_scrap(connection: Connection, number: int) -> Scrap:
    """Give one scrap; raises NotFoundError."""
    rows = connection.execute(living_scraps().where(scraps.c.number == number))
    for scrap in scraps_of(rows):
        return scrap
    raise NotFoundError("scrap", number)


def need_fabric(connection: Connection, number: int) -> None:
    """Raise NotFoundError if there is no such fabric."""
    found = connection.execute(select(fabrics.c.number).where(fabrics.c.number == number)).first()
    if found is None:
        raise NotFoundError("fabric", number)


def begin_photo(connection: Connection, photo: PhotoToLog) -> int | None:
    """Insert the photo's row and give its number; None if it is there already."""
    if connection.dialect.name == "postgresql":
        from sqlalchemy.dialects.postgresql import insert as make  # seldom asked for
    else:
        from sqlalchemy.dialects.sqlite import insert as make  # type: ignore[assignment]
    row = photo_row(photo, suffix=plain_suffix(photo.suffix))
    statement = make(photos).values(**row).on_conflict_do_nothing(index_elements=["sha256"])
    return connection.execute(statement.returning(photos.c.number)).scalar_one_or_none()


def begin_scrap(
    connection: Connection, change: Change, scrap: ScrapToLog, *, photo: str | None
) -> int:
    """Insert a scrap's row, and one of a new fabric if it names none; gives its number."""
    fabric = scrap.fabric
    if fabric is None:
        fabric = begin_fabric(change)
    else:
        need_fabric(connection, fabric)
    picture = sha256_of(scrap.picture_jpeg) if scrap.picture_jpeg else None
    return change.insert(scraps, new_scrap_row(scrap, fabric=fabric, photo=photo, picture=picture))


def begin_fabric(change: Change) -> int:
    """Insert the row of a fabric nothing is said of yet; gives its number."""
    return change.insert(fabrics, {"name": "", "one_way": False, "notes": ""})
