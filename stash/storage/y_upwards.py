"""Turning a stash kept with y down the photo into the one frame of today, whose y runs up.

Everything measured was once kept with y towards the card's neutral row. Outlines, grain, pictures'
places, photos' views, quilts' placements and the rows of the history are turned over here. What
was measured with a ruler was typed with y up and stays. A direction of lines was kept wrong by
twice the turn of the card against the photo; where the photo's view is kept, that is put right.
"""

from __future__ import annotations

import base64
import json
import math
import struct
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from sqlalchemy import Connection, text

from stash.colour.spaces import FloatArray
from stash.storage.packing import unpack_rings

__all__ = ["MIRROR_TURN_DEG", "turn_y_up"]

_Row: TypeAlias = dict[str, Any]

# The turn that makes each shape of the library of its own mirror image, top for bottom, degrees,
# as the shapes were then.
MIRROR_TURN_DEG = {
    "square": 0, "rectangle": 0, "half-square-triangle": 270, "quarter-square-triangle": 180,
    "equilateral-triangle": 180, "diamond-60": 300, "diamond-45": 315, "hexagon": 0,
    "tumbler": 180, "clamshell": 180, "apple-core": 0, "wedge": 180,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Lying:
    """How a scrap was kept: seen in a photo, and how far its photo's x axis is off the card's."""

    seen: bool
    axis_deg: float = 0.0


def turn_y_up(connection: Connection) -> None:
    """Turn all that is kept, inside the caller's transaction."""
    views = _views(connection)
    lying = _lying(connection, views)
    for row in _rows(connection, "SELECT number, view FROM photos WHERE view IS NOT NULL"):
        _write(connection, "photos", row["number"], {"view": _view(row["view"])})
    columns = "number, photo, picture, outline, grain_deg, direction_deg, top_in"
    for row in _rows(connection, f"SELECT {columns} FROM scraps"):
        _write(connection, "scraps", row["number"], _scrap(row, views))
    for row in _rows(connection, "SELECT number, body FROM documents WHERE kind = 'quilt'"):
        _write(connection, "documents", row["number"], {"body": _quilt(row["body"], lying)})
    for row in _rows(connection, "SELECT change, step, on_table, before, after FROM edits"):
        _turn_edit(connection, row, views, lying)
    # Sizes at any turn are those of the mirror image; along the grain they need not be.
    connection.execute(text("DELETE FROM largest_sizes WHERE rule LIKE '%grain%'"))
    connection.execute(text("UPDATE stamp SET changes = changes + 1"))


def _rows(connection: Connection, query: str) -> list[_Row]:
    return [dict(row) for row in connection.execute(text(query)).mappings()]


def _write(connection: Connection, table: str, number: int, values: Mapping[str, Any]) -> None:
    columns = ", ".join(f"{name} = :{name}" for name in values)
    statement = text(f"UPDATE {table} SET {columns} WHERE number = :number_")
    connection.execute(statement, {**values, "number_": number})


def _turn_edit(
    connection: Connection,
    edit: _Row,
    views: Mapping[str, list[float]],
    lying: Mapping[int, _Lying],
) -> None:
    """Turn the rows that one step of a change would put back."""
    turned = {
        when: None if edit[when] is None else _edited(edit["on_table"], edit[when], views, lying)
        for when in ("before", "after")
    }
    statement = text(
        "UPDATE edits SET before = :before, after = :after WHERE change = :change AND step = :step"
    )
    connection.execute(statement, {**turned, "change": edit["change"], "step": edit["step"]})


def _edited(
    table: str, kept: str, views: Mapping[str, list[float]], lying: Mapping[int, _Lying]
) -> str:
    """Give a row of the history turned."""
    row: _Row = json.loads(kept)
    if table == "photos" and row.get("view") is not None:
        row["view"] = _view(row["view"])
    elif table == "scraps":
        row["outline"] = base64.b64decode(row["outline"]["base64"])
        row.update(_scrap(row, views))
        row["outline"] = {"base64": base64.b64encode(row["outline"]).decode("ascii")}
    elif table == "documents" and row["kind"] == "quilt":
        row["body"] = _quilt(row["body"], lying)
    return json.dumps(row, ensure_ascii=False)


def _history(connection: Connection, table: str) -> Iterator[_Row]:
    """Give a table's rows as the history keeps them, oldest first."""
    query = text("SELECT before, after FROM edits WHERE on_table = :on_table ORDER BY change, step")
    for kept in connection.execute(query, {"on_table": table}):
        for row in kept:
            if row is not None:
                yield json.loads(row)


def _views(connection: Connection) -> dict[str, list[float]]:
    """Give the homography (nine numbers) of every photo whose view is known, those undone too."""
    now = _rows(connection, "SELECT sha256, view FROM photos")
    return {
        row["sha256"]: json.loads(row["view"])["image_from_inches"]
        for row in [*_history(connection, "photos"), *now]
        if row.get("view") is not None
    }


def _lying(connection: Connection, views: Mapping[str, list[float]]) -> dict[int, _Lying]:
    """Say of every scrap there is or was how it was kept."""
    past = list(_history(connection, "scraps"))
    for row in past:
        row["outline"] = base64.b64decode(row["outline"]["base64"])
    now = _rows(connection, "SELECT number, photo, picture, outline FROM scraps")
    return {row["number"]: _lies(row, views) for row in [*past, *now]}


def _lies(scrap: _Row, views: Mapping[str, list[float]]) -> _Lying:
    seen = scrap["photo"] is not None or scrap["picture"] is not None
    view = views.get(scrap["photo"] or "")
    if view is None:
        return _Lying(seen)
    return _Lying(seen, _axis_deg(view, np.array(unpack_rings(bytes(scrap["outline"]))[0])))


def _axis_deg(view: list[float], ring: FloatArray) -> float:
    """Direction of the photo's x axis at a scrap, in the frame whose y ran down, degrees."""
    image_from_inches = np.array(view).reshape(3, 3)
    at = image_from_inches @ [*ring.mean(axis=0), 1.0]
    a_pixel_on = at + np.array([at[2], 0.0, 0.0])
    here, ahead = np.linalg.solve(image_from_inches, np.array([at, a_pixel_on]).T).T
    way = ahead[:2] / ahead[2] - here[:2] / here[2]
    return math.degrees(math.atan2(way[1], way[0]))


def _view(kept: str) -> str:
    view = json.loads(kept)
    matrix = view["image_from_inches"]
    view["image_from_inches"] = [
        0.0 - value if place % 3 == 1 else value for place, value in enumerate(matrix)
    ]
    return json.dumps(view)


def _scrap(row: _Row, views: Mapping[str, list[float]]) -> _Row:
    """Give the columns of a scrap that change."""
    lies = _lies(row, views)
    if not lies.seen:
        return {"direction_deg": None}  # nobody ever saw it: it was copied from another scrap
    grain, lines = row["grain_deg"], row["direction_deg"]
    return {
        "outline": _outline(bytes(row["outline"])),
        "grain_deg": None if grain is None else (0.0 - grain) % 360.0,
        "direction_deg": None if lines is None else (lines - 2.0 * lies.axis_deg) % 180.0,
        "top_in": 0.0 - row["top_in"],
    }


def _outline(packed: bytes) -> bytes:
    """Turn packed rings over; each keeps its first point and its way round."""
    rings = unpack_rings(packed)
    head = struct.pack(f"<I{len(rings)}I", len(rings), *(len(ring) for ring in rings))
    return head + b"".join(struct.pack("<2d", x, y) for ring in rings for x, y in _over(ring))


def _over(ring: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    first, *others = ((x, 0.0 - y) for x, y in ring)
    return [first, *reversed(others)]


def _quilt(kept: str, lying: Mapping[int, _Lying]) -> str:
    body = json.loads(kept)
    mirror_deg = MIRROR_TURN_DEG.get(body["plan"]["template"], 0)
    for piece in body.get("pieces", ()):
        lies = lying.get(piece["scrap"], _Lying(seen=bool((piece["crop"] or {}).get("picture"))))
        if lies.seen:
            for crop, lines in (("crop", "stripe_deg"), ("other_crop", "other_stripe_deg")):
                _turn_piece(piece, (crop, lines), mirror_deg, lies.axis_deg)
    return json.dumps(body, ensure_ascii=False)


def _turn_piece(piece: _Row, names: tuple[str, str], mirror_deg: float, axis_deg: float) -> None:
    crop, lines = (piece.get(name) for name in names)
    if crop is None:
        return
    was_deg = crop["angle_deg"]
    crop["y"], crop["top_in"] = 0.0 - crop["y"], 0.0 - crop["top_in"]
    crop["angle_deg"] = (mirror_deg - was_deg) % 360
    if lines is not None:
        direction_deg = lines + was_deg - 2 * axis_deg
        piece[names[1]] = (direction_deg - crop["angle_deg"]) % 180
