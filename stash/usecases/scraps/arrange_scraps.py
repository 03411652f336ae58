"""Scraps in an order to look at: by colour family, by value, or one run from light to dark."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stash.colour.naming import FAMILIES
from stash.usecases.scraps.review_scraps import ScrapView

__all__ = ["ScrapGroup", "arrange", "order_words"]

_VALUES = ("light", "medium", "dark")


@dataclass(frozen=True, slots=True)
class ScrapGroup:
    """Scraps that stand under one heading, the lightest first."""

    heading: str
    views: tuple[ScrapView, ...]


def arrange(views: Sequence[ScrapView], by: str = "family") -> tuple[ScrapGroup, ...]:
    """Put scraps under headings; empty groups are left out.

    Parameters
    ----------
    views : sequence of ScrapView
        In any order.
    by : str
        "family" groups by colour family, "value" by light, medium and dark among the whole
        stash, "light-to-dark" makes one group. In each the L* of the colour that the cloth
        reads as falls from scrap to scrap.
    """
    lightest_first = sorted(views, key=lambda view: -view.scrap.appearance.reads_as[0])
    if by == "light-to-dark":
        groups = [ScrapGroup("From light to dark", tuple(lightest_first))]
    elif by == "value":
        groups = _under(_VALUES, lightest_first, lambda view: view.value)
    else:
        groups = _under(FAMILIES, lightest_first, lambda view: view.family)
    return tuple(group for group in groups if group.views)


def order_words(by: str) -> str:
    """Say an order in words, to stand behind what is ordered."""
    return {"value": "by value", "light-to-dark": "in one run"}.get(by, "by colour family")


def _under(
    words: Sequence[str], views: Sequence[ScrapView], word_of: Callable[[ScrapView], str]
) -> list[ScrapGroup]:
    return [
        ScrapGroup(word.capitalize(), tuple(view for view in views if word_of(view) == word))
        for word in words
    ]
