"""What the cuts of a quilt take for good of each fabric."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from stash.quilt.regret import Regret, regret_of
from stash.scrap import Scrap, ScrapState
from stash.shape.plane.outline import Outline
from stash.shape.templates.template import Template
from stash.usecases.pieces.piece_counts import CutRule, usable_outline
from stash.usecases.ports import Store

__all__ = ["regrets_of"]


def regrets_of(
    store: Store,
    left_of: Mapping[int, Sequence[Outline]],
    names: Mapping[int, str],
    template: Template,
    rule: CutRule,
) -> tuple[Regret, ...]:
    """Say of which fabrics the cuts take the last large square, the largest first.

    Cloth is counted as ``match`` counts it: washed or shrunk for it, and shrunk by its error;
    what is left is what will be recorded.

    Parameters
    ----------
    left_of : mapping of int to sequence of Outline
        What stays of each scrap that is cut, inches, by its number.
    names : mapping of int to str
        What the fabrics that are cut are called, by number.
    """
    before: dict[int, list[Outline]] = defaultdict(list)
    after: dict[int, list[Outline]] = defaultdict(list)
    for scrap in store.scraps():
        if scrap.fabric not in names or scrap.state is ScrapState.CUT_UP:
            continue
        before[scrap.fabric].append(usable_outline(scrap, rule))
        after[scrap.fabric] += _left(scrap, left_of.get(scrap.number), rule)
    left, low, right, top = template.cut_polygon().bounds
    found = [
        regret_of(
            fabric,
            name,
            before[fabric],
            after[fabric],
            piece_sq_in=(right - left) * (top - low),
        )
        for fabric, name in names.items()
    ]
    return tuple(sorted((one for one in found if one), key=lambda one: (-one.side_in, one.fabric)))


def _left(scrap: Scrap, parts: Sequence[Outline] | None, rule: CutRule) -> list[Outline]:
    if parts is None:
        return [usable_outline(scrap, rule)]
    return [usable_outline(replace(scrap, outline=part), rule) for part in parts]
