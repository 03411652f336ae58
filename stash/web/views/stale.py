"""Forms filled in on a page that is older than the stash: merged by field, never laid over."""

from __future__ import annotations

from stash.errors import ChangedElsewhereError
from stash.web.door.forms import Form

__all__ = ["changed_text", "changed_tick", "need_unchanged"]


def changed_text(form: Form, name: str, now: str, what: str) -> str | None:
    """Give what was written in a field, or None where it was left as the page showed it.

    The page sends along, as ``was_`` and the field's name, what it showed; a form without that
    counts as written.

    Parameters
    ----------
    form : Form
        As sent.
    name : str
        Of the field.
    now : str
        What the stash holds.
    what : str
        The field in the user's words.

    Raises
    ------
    ChangedElsewhereError
        If the field was changed here and, since the page was opened, also elsewhere.
    """
    written = form.text(name)
    if f"was_{name}" not in form.fields:
        return written
    was = _plain(form.text(f"was_{name}"))
    if _plain(written) == was:
        return None
    if _plain(now) not in {was, _plain(written)}:
        raise ChangedElsewhereError(what)
    return written


def need_unchanged(form: Form, name: str, now: str, wanted: str, what: str) -> None:
    """Refuse what a button does to something that was changed since the page was opened.

    Parameters
    ----------
    name : str
        The page sends along, as ``was_`` and this name, what it showed.
    now, wanted : str
        What the stash holds, and what it would hold afterwards.
    what : str
        The thing in the user's words.

    Raises
    ------
    ChangedElsewhereError
        If it is neither as the page showed it nor as it is to be.
    """
    if f"was_{name}" in form.fields and now not in {form.text(f"was_{name}"), wanted}:
        raise ChangedElsewhereError(what)


def changed_tick(form: Form, name: str, *, now: bool) -> bool | None:
    """Give whether a box is ticked, or None where it was left as the page showed it."""
    ticked = bool(form.text(name))
    if f"was_{name}" not in form.fields:
        return ticked
    # Two people who both changed a tick agree: there are but two ways for it to be.
    return None if ticked == bool(form.text(f"was_{name}")) or ticked == now else ticked


def _plain(text: str) -> str:
    """Take line ends as they come: a browser sends them in its own way."""
    return "\n".join(text.split("\r\n")).strip()
