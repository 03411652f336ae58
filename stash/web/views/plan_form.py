"""The form of a quilt's plan: what it shows, and what was changed in it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

from stash.colour.appearance import PrintKind
from stash.errors import PlanError
from stash.quilt.plan import Plan, Quilt
from stash.quilt.setting import settings_of
from stash.quilt.smallest_changes import Remedy
from stash.shape.templates.template import families
from stash.units import parse_length
from stash.usecases.palettes.manage_palettes import palettes
from stash.usecases.quilts.change_quilt import Wishes
from stash.usecases.quilts.quilt_words import amount_range
from stash.web.door.forms import Form
from stash.web.page_tools import PageTools
from stash.web.shown.tiles import Tile
from stash.wording import counted

__all__ = ["Asked", "Way", "asked_of", "form_of", "ways_of", "words_of_change"]

Shown: TypeAlias = Mapping[str, Any]

TONES = ("light", "medium", "dark")
_RULES = {"charm": "each fabric once", "limit": "at most so many of one fabric", "": "as it comes"}
_SPREAD = {"": "as the rule says", "many": "as many fabrics as there are", "few": "few scraps"}
_MANY = {"": None, "many": True, "few": False}
_MOST_DIGITS = 4
_MOST_NAMED = 200


@dataclass(frozen=True, slots=True)
class Asked:
    """What was changed in the form; what is left as it was shown is not among it."""

    settings: Mapping[str, Any]
    wishes: Wishes

    @property
    def anything(self) -> bool:
        """Whether anything was changed at all."""
        return bool(self.settings) or self.wishes != Wishes()


def form_of(tools: PageTools, quilt: Quilt, tiles: Mapping[int, Tile]) -> Shown:
    """Give what the form shows at first, and what its fields may be set to."""
    plan = quilt.plan
    return {
        "rows": str(plan.rows),
        "across": str(plan.across),
        "shape": plan.template,
        "size": tools.said(plan.size),
        "setting": plan.setting,
        "straight": plan.straight,
        "seam": tools.length(plan.seam_allowance_in),
        "grain": "" if plan.grain_tolerance_deg is None else f"{plan.grain_tolerance_deg:g}",
        "shrink": f"{100 * plan.shrink_share:g}",
        "palette": plan.palette,
        "bend": plan.borderline,
        "rule": "charm" if plan.limit == 1 else "limit" if plan.limit else "",
        "limit": str(plan.limit or ""),
        "spread": {None: "", True: "many", False: "few"}[plan.many_fabrics],
        "scraps_first": plan.scraps_first,
        "reserve_rows": str(plan.reserve_rows or ""),
        "kinds": plan.kinds,
        "bins": plan.bins,
        "tones": plan.tones,
        "amounts": _amounts_said(plan),
        "frame": plan.frame,
        **{tone: _per_cent((plan.values or {}).get(tone)) for tone in TONES},
        **{wish: _scraps_of(tiles, getattr(plan, wish)) for wish in ("surely", "never")},
        "shapes": families(),
        "settings": [one.name for one in settings_of(plan.template)],
        "palettes": [palette.name for palette in palettes(tools.store)],
        "rules": _RULES,
        "spreads": _SPREAD,
        "all_kinds": [kind.value for kind in PrintKind],
        "all_bins": sorted({tile.place for tile in tiles.values() if tile.place} | {*plan.bins}),
        "all_tones": TONES,
    }


def _per_cent(share: float | None) -> str:
    return "" if share is None else f"{100 * share:g}"


def _amounts_said(plan: Plan) -> str:
    return "\n".join(
        f"{name} {100 * low:g}-{100 * high:g}" for name, (low, high) in (plan.amounts or {}).items()
    )


def _scraps_of(tiles: Mapping[int, Tile], fabrics: Sequence[int]) -> str:
    """Name each fabric by the first of its scraps that is still there."""
    first: dict[int, int] = {}
    for number, tile in tiles.items():
        first[tile.fabric] = min(number, first.get(tile.fabric, number))
    return ", ".join(str(first[fabric]) for fabric in fabrics if fabric in first)


def asked_of(tools: PageTools, form: Form, shown: Shown) -> Asked:
    """Read what was changed; raises PlanError or UnitError where a field cannot be read."""
    asked = {
        **_sizes(tools, form, shown),
        **_cloth(form, shown),
        **_cutting(tools, form, shown),
        **_by_one_tap(form.text("way")),
    }
    return Asked(asked, _wishes(form, shown))


def _changed(form: Form, shown: Shown, fields: Iterable[tuple[str, str]]) -> dict[str, Any]:
    """Give choices that were changed, by what the plan calls them."""
    return {into: form.text(name) for name, into in fields if form.text(name) != shown[name]}


def _sizes(tools: PageTools, form: Form, shown: Shown) -> dict[str, Any]:
    asked = _changed(form, shown, (("shape", "template"), ("setting", "setting")))
    if "template" in asked:
        asked["setting"] = ""  # the usual one of that shape
    for field in ("rows", "across"):
        if form.text(field) != shown[field]:
            asked[field] = _count(form.text(field), field)
    if form.text("size") != shown["size"]:
        asked["size"] = tools.meant(form.text("size"))
    return asked | _ticked(form, shown, (("straight", "straight"),))


def _ticked(form: Form, shown: Shown, fields: Iterable[tuple[str, str]]) -> dict[str, Any]:
    return {into: bool(form.text(name)) for name, into in fields
            if bool(form.text(name)) != shown[name]}  # fmt: skip


def _cloth(form: Form, shown: Shown) -> dict[str, Any]:
    asked = _changed(form, shown, (("palette", "palette"), ("frame", "frame")))
    rule, limit = form.text("rule"), {"charm": 1}.get(form.text("rule"))
    if rule == "limit":
        limit = _count(form.text("limit"), "pieces of one fabric")
    before = {"charm": 1, "limit": int(shown["limit"] or 0)}.get(shown["rule"])
    if limit != before:
        asked["limit"] = limit
    if form.text("reserve_rows") != shown["reserve_rows"]:
        asked["reserve_rows"] = _count(form.text("reserve_rows") or "0", "rows to be held back")
    said = [form.text(tone) for tone in TONES]
    if said != [shown[tone] for tone in TONES]:
        asked["values"] = _shares(said)
    return asked | _ticked(form, shown, (("bend", "borderline"),))


def _shares(said: Sequence[str]) -> Mapping[str, float] | None:
    if not any(said):
        return None
    numbers = [_number(text or "0", "share of a value") / 100 for text in said]
    if abs(sum(numbers) - 1) > 0.02:
        raise PlanError("The shares of light, medium and dark make 100 % together.")
    return dict(zip(TONES, numbers, strict=True))


def _cutting(tools: PageTools, form: Form, shown: Shown) -> dict[str, Any]:
    asked: dict[str, Any] = {}
    if (seam := form.text("seam")) and seam != shown["seam"]:
        asked["seam_allowance_in"] = parse_length(seam, unit=tools.settings.unit)
    if (grain := form.text("grain")) != shown["grain"]:
        asked["grain_tolerance_deg"] = _number(grain, "degrees off the grain") if grain else None
    if (shrink := form.text("shrink")) and shrink != shown["shrink"]:
        asked["shrink_share"] = _number(shrink, "loss in the wash in per cent") / 100
    return asked


def _by_one_tap(way: str) -> dict[str, Any]:
    """Read the way that one of the buttons of `ways_of` stands for."""
    what, _, value = way.partition("=")
    if what == "size":
        return {"size": value}
    if what in ("rows", "limit"):
        return {what: _count(value, what)}
    return {"borderline": True} if what == "bend" else {}


def _wishes(form: Form, shown: Shown) -> Wishes:
    surely, gone = _named(form.text("surely"), shown["surely"])
    never, free = _named(form.text("never"), shown["never"])
    lists = {
        name: tuple(form.texts(name)) if set(form.texts(name)) != set(shown[name]) else None
        for name in ("kinds", "bins", "tones")
    }
    spread, first = form.text("spread"), bool(form.text("scraps_first"))
    if spread not in _MANY:
        raise PlanError("Choose from the list how many fabrics are used.")
    return Wishes(
        surely,
        never,
        (*gone, *free),
        **lists,
        amounts=_amounts(form.text("amounts"), shown["amounts"]),
        many_fabrics=_MANY[spread] if spread != shown["spread"] else None,
        scraps_first=first if first != shown["scraps_first"] else None,
    )


def _amounts(said: str, shown: str) -> Mapping[str, tuple[float, float] | None]:
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    if lines == shown.splitlines():
        return {}
    before = dict(amount_range(line) for line in shown.splitlines())
    return {**dict.fromkeys(before), **dict(amount_range(line) for line in lines)}


def _named(said: str, shown: str) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Give the scraps that are named now and were not, and those that no longer are."""
    now, before = _numbers(said), _numbers(shown)
    return (
        tuple(number for number in now if number not in before),
        tuple(number for number in before if number not in now),
    )


def _numbers(text: str) -> list[int]:
    parts = [part for part in re.split(r"[\s,;#]+", text[: 10 * _MOST_NAMED]) if part]
    if not all(part.isascii() and part.isdigit() and len(part) < 10 for part in parts):
        raise PlanError(f"“{text[:60]}” are no scraps; write their numbers such as 4, 7.")
    return [int(part) for part in parts]


def _count(text: str, what: str) -> int:
    if not (text.isascii() and text.isdigit() and 0 < len(text) <= _MOST_DIGITS):
        raise PlanError(f"Say the {what} as a whole number.")
    return int(text)


def _number(text: str, what: str) -> float:
    try:
        return float(text.replace(",", ".").rstrip(" %"))
    except ValueError:
        raise PlanError(f"“{text[:20]}” is no number; say the {what} in figures.") from None


# What would help, in words; what one tap does of it.


@dataclass(frozen=True, slots=True)
class Way:
    """One way to make a quilt possible.

    Attributes
    ----------
    tap : str
        What a button sends to have it done; empty where it takes more than a tap.
    """

    words: str
    tap: str


def ways_of(changes: Sequence[Remedy], said: Callable[[str], str]) -> list[Way]:
    """Give the ways in words, those that take one tap first."""
    ways = [Way(words_of_change(change, said), _tap_of(change)) for change in changes]
    return sorted(ways, key=lambda way: not way.tap)


def _tap_of(change: Remedy) -> str:
    if change.kind == "size":
        return f"size={change.size}"
    if change.kind == "fewer" and "rows" in change.amounts:
        return f"rows={change.amounts['rows']}"
    if change.kind == "limit":
        return f"limit={max(change.amounts.values())}"
    return "bend" if change.kind == "borderline" else ""


def words_of_change(change: Remedy, said: Callable[[str], str] = str) -> str:
    """Say in words what would make a quilt possible.

    Parameters
    ----------
    said : callable
        Writes a finished size in the unit chosen.

    Examples
    --------
    >>> words_of_change(Remedy("buy", {"teal": 3}))
    'Buy 3 fabrics more: 3 teal'
    """
    if change.kind == "size":
        return f"A smaller piece: {said(change.size)} finished"
    return _CHANGES[change.kind](change)


def _buy_words(change: Remedy) -> str:
    if any(one.cut.name for one in change.purchases):
        parts = [
            f"{one.fabrics} {'fabric' if one.part == 'any' else one.part}, a {one.cut.name} of each"
            for one in change.purchases
        ]
        return f"Buy {'; '.join(parts)}"
    total = sum(change.amounts.values())
    return f"Buy {counted(total, 'fabric')} more: {_parts(change)}"


def _parts(change: Remedy) -> str:
    return ", ".join(f"{count} {name}" for name, count in change.amounts.items())


def _of_scraps(change: Remedy) -> str:
    more = len(change.scraps) - 8
    named = ", ".join(f"#{number}" for number in change.scraps[:8])
    return f"{named} and {more} more" if more > 0 else named


def _fewer_words(change: Remedy) -> str:
    if "rows" in change.amounts:
        return f"Fewer rows: {change.amounts['rows']}, {change.amounts['pieces']} pieces"
    return f"Make it smaller: {change.amounts['pieces']} pieces"


_CHANGES: Mapping[str, Callable[[Remedy], str]] = {
    "buy": _buy_words,
    "fewer": _fewer_words,
    "decide": lambda change: f"Say of what may be one cloth whether it is: {_of_scraps(change)}",
    "borderline": lambda change: (
        f"Let the palette bend: {change.amounts['pieces']} pieces that want a second look "
        f"({_of_scraps(change)})"
    ),
    "limit": lambda change: f"Take up to {max(change.amounts.values())} pieces of one fabric",
    "release": lambda change: (
        f"Take scraps back from other quilts ({', '.join(change.amounts)}): {_of_scraps(change)}"
    ),
    "shares": lambda change: (
        f"Let the palette’s amounts shift: {_parts(change)} pieces over or under"
    ),
}
