"""Scraps and fabrics in words, tables, JSON and pictures."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from stash.colour.colour_name import colour_name
from stash.colour.spaces import hex_of_lab
from stash.units import format_inches, format_size
from stash.usecases.pieces.grain import grain_of
from stash.usecases.scraps.review_scraps import FabricView, ScrapView

__all__ = [
    "FABRIC_HEADS",
    "SCRAP_HEADS",
    "fabric_as_json",
    "fabric_rows",
    "one_line",
    "scrap_as_json",
    "scrap_lines",
    "scrap_rows",
]

SCRAP_HEADS = (
    "scrap", "fabric", "size", "name", "family", "value", "kind", "grain", "bin", "remarks",
)  # fmt: skip
FABRIC_HEADS = ("fabric", "name", "family", "value", "kind", "scraps", "largest", "in all")


def scrap_rows(views: Iterable[ScrapView], *, unit: str) -> list[list[str]]:
    """Give the table's rows; sizes are those of the box around the scrap, as it is now."""
    return [
        [
            str(view.scrap.number),
            str(view.fabric.number),
            format_size(view.short_in, view.long_in, unit=unit),
            view.name,
            view.family,
            view.value,
            str(view.scrap.appearance.kind),
            grain_of(view.scrap).short(),
            view.scrap.place,
            _remarks(view),
        ]
        for view in views
    ]


def _remarks(view: ScrapView) -> str:
    scrap = view.scrap
    remarks = [] if scrap.washed else ["unwashed"]
    if view.state != "whole":
        remarks.append(_state(view))
    return ", ".join(remarks)


def _state(view: ScrapView) -> str:
    return f"reserved for {view.held_for}" if view.state == "reserved" else view.state


def fabric_rows(views: Iterable[FabricView], *, unit: str) -> list[list[str]]:
    """Give the table's rows."""
    rows = []
    for view in views:
        largest = view.scraps[0]
        rows.append(
            [
                str(view.fabric.number),
                largest.name,
                largest.family,
                largest.value,
                str(largest.scrap.appearance.kind) + (", one way" if view.fabric.one_way else ""),
                str(len(view.scraps)),
                format_size(largest.short_in, largest.long_in, unit=unit),
                _area(view.area_sq_in, unit),
            ]
        )
    return rows


def _area(area_sq_in: float, unit: str) -> str:
    return f"{area_sq_in * 6.4516:.0f} sq cm" if unit == "cm" else f"{area_sq_in:.1f} sq in"


def one_line(view: ScrapView, *, unit: str, taken_as: str) -> str:
    """Say in one line what was added."""
    size = format_size(view.short_in, view.long_in, unit=unit)
    return (
        f"Added scrap {view.scrap.number} of fabric {view.fabric.number}: {taken_as}, {size}, "
        f"{view.name}, {view.value}."
    )


def scrap_lines(view: ScrapView, *, unit: str) -> list[str]:
    """Tell all about a scrap."""
    scrap, look = view.scrap, view.scrap.appearance
    lines = [
        f"Scrap {scrap.number} of fabric {view.fabric.number}: {view.name}",
        f"  size     {_sizes(view, unit)}",
        f"  outline  {len(scrap.outline.points)} corners, sure to "
        f"{_fine(scrap.outline.error_in, unit)}; {_area(scrap.outline.area_sq_in, unit)}",
        f"  reads as {colour_name(look.reads_as)} ({hex_of_lab(look.reads_as)}), {view.family}, "
        f"{view.value}",
        f"  colours  {_colours(view)}",
        f"  kind     {_kind(view, unit)}",
        f"  sure to  {look.error_de00:.1f} CIEDE2000"
        + ("" if look.absolute else "; consistent, not absolute"),
    ]
    for label, text in (
        ("bin", scrap.place),
        ("fibre", scrap.fibre),
        ("notes", scrap.notes),
        ("fabric", view.fabric.notes),
        ("state", "" if view.state == "whole" else _state(view)),
    ):
        if text:
            lines.append(f"  {label:<8} {text}")
    return lines


def _sizes(view: ScrapView, unit: str) -> str:
    now = format_size(view.short_in, view.long_in, unit=unit)
    if view.scrap.washed:
        return f"{now}, washed"
    later = format_size(view.washed_short_in, view.washed_long_in, unit=unit)
    return f"{now}, unwashed; {later} after washing (3 % less)"


def _fine(length_in: float, unit: str) -> str:
    return f"{length_in * 2.54:.2f} cm" if unit == "cm" else f"{length_in:.3f} in"


def _colours(view: ScrapView) -> str:
    parts = [
        f"{colour.share:.0%} {colour_name(colour.lab)} {hex_of_lab(colour.lab)}"
        for colour in view.scrap.appearance.colours
    ]
    return ", ".join(parts)


def _kind(view: ScrapView, unit: str) -> str:
    look = view.scrap.appearance
    parts = [str(look.kind)]
    if look.direction_deg is not None:
        parts.append(f"lines at {look.direction_deg:.0f}°")
    if look.repeat_in is not None:
        sure = "" if look.repeat_sure else " (not sure)"
        parts.append(f"repeats every {format_inches(look.repeat_in, unit=unit)}{sure}")
    parts.append(grain_of(view.scrap).words())
    if view.fabric.one_way:
        parts.append("one-way print")
    return ", ".join(parts)


def scrap_as_json(view: ScrapView) -> dict[str, Any]:
    """Give a scrap for programs; lengths in inches, colours in CIELAB, white D65."""
    scrap, look, grain = view.scrap, view.scrap.appearance, grain_of(view.scrap)
    return {
        "scrap": scrap.number,
        "fabric": scrap.fabric,
        "name": view.fabric.name,
        "one_way": view.fabric.one_way,
        "outline_in": [list(point) for point in scrap.outline.points],
        "holes_in": [[list(point) for point in ring] for ring in scrap.outline.holes],
        "outline_error_in": scrap.outline.error_in,
        "area_sq_in": scrap.outline.area_sq_in,
        "size_in": [view.short_in, view.long_in],
        "size_after_washing_in": [view.washed_short_in, view.washed_long_in],
        "reads_as_lab": list(look.reads_as),
        "colour": colour_name(view.scrap.appearance.reads_as),
        "name_told": view.colour,
        "family": view.family,
        "value": view.value,
        "colours": [{"lab": list(c.lab), "share": c.share} for c in look.colours],
        "kind": str(look.kind),
        "direction_deg": look.direction_deg,
        "repeat_in": look.repeat_in,
        "repeat_sure": look.repeat_sure,
        "error_de00": look.error_de00,
        "absolute": look.absolute,
        "bin": scrap.place,
        "washed": scrap.washed,
        "fibre": scrap.fibre,
        "notes": scrap.notes,
        "grain_deg": grain.deg,
        "grain_from": str(grain.told_by),
        "state": view.state,
        "held_for": view.held_for or None,
        "photo": scrap.photo,
        "picture": None if scrap.picture is None else scrap.picture.sha256,
    }


def fabric_as_json(view: FabricView) -> dict[str, Any]:
    """Give a fabric for programs; what it looks like is taken from its largest scrap."""
    largest = view.scraps[0]
    return {
        "fabric": view.fabric.number,
        "name": view.fabric.name,
        "one_way": view.fabric.one_way,
        "notes": view.fabric.notes,
        "scraps": sorted(one.scrap.number for one in view.scraps),
        "area_sq_in": view.area_sq_in,
        "largest_size_in": [largest.short_in, largest.long_in],
        "reads_as_lab": list(largest.scrap.appearance.reads_as),
        "colour": colour_name(largest.scrap.appearance.reads_as),
        "name_told": largest.colour,
        "family": largest.family,
        "value": largest.value,
        "kind": str(largest.scrap.appearance.kind),
    }
