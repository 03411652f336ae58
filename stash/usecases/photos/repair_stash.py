"""Log photos again that a repaired stash holds and no row knows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stash.errors import NotFoundError, StashError
from stash.usecases.photos.add_photo import LogOptions, PhotoOutcome, cards_to_use, log_photo
from stash.usecases.ports import Store

__all__ = ["log_again"]


def log_again(store: Store, photos: Sequence[str], *, card: str | None) -> Iterator[PhotoOutcome]:
    """Measure photos anew that lie in the stash already; gives what became of each.

    Parameters
    ----------
    store : Store
        The repaired stash.
    photos : sequence of str
        File names in it: a sha256 and an ending. What they were called is not known any more.
    card : str or None
        The reference card on them; None takes the newest.
    """
    try:
        cards = cards_to_use(store, card)
    except NotFoundError as problem:
        for name in photos:
            reason = f"{problem} Then repair the stash again; the photo stays in it."
            yield PhotoOutcome(_called(name), "refused", reason=reason)
        return
    for name in photos:
        try:
            data = store.picture(name.split(".")[0])
            yield log_photo(store, data, file_name=_called(name), cards=cards, options=LogOptions())
        except StashError as problem:
            yield PhotoOutcome(_called(name), "refused", reason=str(problem))


def _called(name: str) -> str:
    sha256, suffix = name.split(".")
    return f"found-{sha256[:12]}.{suffix}"
