"""Templates by name: the library's shapes, the quilter's own, or a file."""

from __future__ import annotations

from pathlib import Path

from stash.errors import TemplateError
from stash.shape.template import Template, families, make_template, template_of_file
from stash.usecases.ports import AskedStore
from stash.usecases.user_files import read_file

__all__ = ["template_of"]

_FILE_SUFFIXES = (".json", ".svg")


def template_of(
    store: AskedStore | None, name: str, *, size: str | None, seam_allowance_in: float = 0.25
) -> Template:
    """Give the template a quilter means.

    Parameters
    ----------
    store : Store or None
        Where shapes of one's own are kept.
    name : str
        A family of the library, a kept shape, or the path of a ``.json`` or ``.svg`` file.
    size : str or None
        Finished size as written; a file needs none.
    seam_allowance_in : float
        Inches.

    Raises
    ------
    TemplateError
        If the name or the size makes no shape; says what is known.
    """
    if name in families():
        if size is None:
            raise TemplateError(f"How large is the {name}? Give its finished size with --size.")
        return make_template(name, size, seam_allowance_in=seam_allowance_in)
    if name.lower().endswith(_FILE_SUFFIXES):
        return template_of_file(read_file(Path(name)), Path(name).suffix.lower())
    if store is not None:
        for document in store.documents("template"):
            if document.name == name:
                suffix, text = str(document.body["suffix"]), str(document.body["text"])
                return template_of_file(text.encode(), suffix)
    raise TemplateError(
        f"“{name}” is no shape I know. Known are: {', '.join(families())}; "
        "or give a .json or .svg file."
    )
