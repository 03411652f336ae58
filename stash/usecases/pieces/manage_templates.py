"""Templates by name: the library's shapes, the quilter's own, or a file."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

from stash.errors import TemplateError
from stash.shape.templates.template import (
    Template,
    families,
    make_template,
    shape_called,
    template_of_file,
)
from stash.units import parse_length
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
        Finished size as written. A shape of one's own needs none; given one, its cut is scaled
        to that width and keeps its seam allowance.
    seam_allowance_in : float
        Inches.

    Raises
    ------
    TemplateError
        If the name or the size makes no shape; says what is known.
    """
    if name in families():
        if size is None:
            raise TemplateError(
                f"How large is the {name}? Give its finished size.", at_terminal="That is --size."
            )
        return make_template(name, size, seam_allowance_in=seam_allowance_in)
    if name.lower().endswith(_FILE_SUFFIXES):
        data, suffix = read_file(Path(name)), Path(name).suffix.lower()
        return _own(data, suffix, size, seam_allowance_in)
    if store is not None:
        for document in store.documents("template"):
            if document.name == name:
                suffix, text = str(document.body["suffix"]), str(document.body["text"])
                return _own(text.encode(), suffix, size, seam_allowance_in)
    if (written := shape_called(name)) != name:
        return template_of(None, written, size=size, seam_allowance_in=seam_allowance_in)
    raise TemplateError(
        f"“{name}” is no shape I know. Known are: {', '.join(families())}; "
        "or give a .json or .svg file."
    )


def _own(data: bytes, suffix: str, size: str | None, seam_allowance_in: float) -> Template:
    shape = template_of_file(data, suffix, seam_allowance_in=seam_allowance_in)
    if size is None:
        return shape
    by = parse_length(size) / shape.size_in
    if not by > 0:
        raise TemplateError(f"A shape {size} wide has no cloth; give the width of its cut.")
    cut = json.dumps({"cut": [[x * by, y * by] for x, y in shape.cut]}).encode()
    scaled = template_of_file(cut, ".json", seam_allowance_in=seam_allowance_in)
    return replace(scaled, flattening_error_in=shape.flattening_error_in * by)
