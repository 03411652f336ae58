"""Whether the bodies of named records can still be read as what they are."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from sqlalchemy import Connection, select

from stash.errors import StashError
from stash.storage.tables import documents

__all__ = ["unreadable_as_missing", "unreadable_records"]


def unreadable_records(connection: Connection) -> Iterator[tuple[str, str]]:
    """Give kind and name of each card, palette, template and quilt that cannot be read."""
    for row in connection.execute(select(documents).order_by(documents.c.number)):
        try:
            readable = _is_readable(row.kind, row.name, json.loads(row.body))
        except (ValueError, TypeError, RecursionError):
            readable = False
        if not readable:
            yield row.kind, row.name


def unreadable_as_missing(connection: Connection) -> tuple[str, ...]:
    """Name them as what did not come along when a stash was brought back."""
    found = unreadable_records(connection)
    return tuple(f"the {kind} “{name}” (it cannot be read; make it again)" for kind, name in found)


def _is_readable(kind: str, name: str, body: Mapping[str, Any]) -> bool:
    """Say whether a record's body can be read; of a kind that is not known, every one can."""
    read = _READERS.get(kind)
    if read is None:
        return True
    try:
        return read(name, body)
    except (StashError, KeyError, TypeError, ValueError, AttributeError, OverflowError):
        return False


# The readers load their subjects only when a stash is looked over.


def _card(name: str, body: Mapping[str, Any]) -> bool:
    import numpy as np

    from stash.photo.cards.card import card_of

    card = card_of(name, body)
    return bool(
        0 < card.pitch_in < 100
        and card.patch_linear.shape == (24, 3)
        and np.isfinite(card.patch_linear).all()
    )


def _palette(name: str, body: Mapping[str, Any]) -> bool:
    from stash.colour.palette import Palette

    return Palette.from_dict(body).name == name


def _quilt(name: str, body: Mapping[str, Any]) -> bool:
    from stash.quilt.plan import Quilt

    return Quilt.of_record(name, body).name == name


def _template(_name: str, body: Mapping[str, Any]) -> bool:
    from stash.shape.templates.template import template_of_file

    data = str(body["text"]).encode()
    return template_of_file(data, str(body["suffix"]), seam_allowance_in=0.25).size_in > 0


_READERS: Mapping[str, Callable[[str, Mapping[str, Any]], bool]] = {
    "card": _card,
    "palette": _palette,
    "quilt": _quilt,
    "template": _template,
}
