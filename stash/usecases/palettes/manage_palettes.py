"""Make, list, show and keep palettes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from stash.colour.appearance import Appearance
from stash.colour.naming import family_of
from stash.colour.palette import (
    Amount,
    Palette,
    Target,
    WantedFamily,
    palette_of_appearances,
    palette_of_hex,
)
from stash.colour.palette_words import palette_of_words, ruled_out_by
from stash.colour.spaces import hex_of_lab
from stash.errors import PaletteError
from stash.usecases.ports import AskedStore, Document, Store
from stash.usecases.twins.same_fabric import no_fabric

__all__ = [
    "PaletteChange",
    "PaletteRequest",
    "change_palette",
    "compose_palette",
    "family_beside",
    "forget_palette",
    "looks_asked",
    "make_palette",
    "palette_named",
    "palette_record",
    "palettes",
]

_KIND = "palette"


@dataclass(frozen=True, slots=True)
class PaletteRequest:
    """What a palette is to be made of; several sources are laid together.

    Attributes
    ----------
    name : str
        What the quilter calls it.
    words : str
        Said in words, as ``palette_words`` explains.
    colours : tuple of str
        Hex colours.
    gpl : str
        Text of a GIMP palette file.
    scraps : tuple of int
        Numbers of scraps whose colours are taken.
    fabric : int or None
        Number of a focus fabric.
    photo : bytes
        A photo of anything; ``photo_name`` is told in messages.
    without : tuple of str
        Families ruled out, as a person writes them.
    neutrals : bool
        False if white, grey, black, cream and tan are not welcome besides.
    limits : mapping of str to float
        Limits of the verdicts that differ from the usual ones.
    """

    name: str
    words: str = ""
    colours: tuple[str, ...] = ()
    gpl: str = ""
    scraps: tuple[int, ...] = ()
    fabric: int | None = None
    photo: bytes = b""
    photo_name: str = "the photo"
    without: tuple[str, ...] = ()
    neutrals: bool = True
    limits: Mapping[str, float] = field(default_factory=dict)


def make_palette(store: Store, request: PaletteRequest) -> Palette:
    """Make a palette and keep it under its name, in place of an older one of that name.

    Raises as ``compose_palette`` does.
    """
    palette = compose_palette(store, request)
    _keep(store, palette, why=f"made the palette {palette.name}")
    return palette


def compose_palette(store: Store, request: PaletteRequest) -> Palette:
    """Make a palette without keeping it, to look at first.

    Raises
    ------
    PaletteError
        If nothing is asked for, or a word or colour is not understood.
    NotFoundError
        If a scrap or fabric is not in the stash.
    """
    name = request.name.strip()
    if not name:
        raise PaletteError("Give the palette a name.")
    parts = list(_sources(store, request))
    without, avoided = _ruled_out(request.without)
    if not parts and not request.without:
        raise PaletteError(
            "Say what the palette is made of: words, colours, a GIMP palette, scraps, a fabric "
            "or a photo."
        )
    palette = Palette(
        name,
        families=tuple(wanted for part in parts for wanted in part.families),
        targets=tuple(target for part in parts for target in part.targets),
        without=tuple(dict.fromkeys([*(f for part in parts for f in part.without), *without])),
        neutrals=request.neutrals and all(part.neutrals for part in parts),
        not_too=tuple(dict.fromkeys(tone for part in parts for tone in part.not_too)),
        avoided=(*(shade for part in parts for shade in part.avoided), *avoided),
    )
    return replace(palette, thresholds=palette.thresholds.changed(request.limits))


def _ruled_out(
    words: Sequence[str],
) -> tuple[tuple[str, ...], tuple[WantedFamily | Target, ...]]:
    """Give the families and the shades that words rule out."""
    both = [ruled_out_by(word) for word in words]
    families = dict.fromkeys(family for found, _ in both for family in found)
    return tuple(families), tuple(dict.fromkeys(shade for _, found in both for shade in found))


def _sources(store: Store, request: PaletteRequest) -> Sequence[Palette]:
    name, parts = request.name, []
    if request.words:
        parts.append(palette_of_words(name, request.words))
    if request.colours:
        parts.append(palette_of_hex(name, request.colours))
    if request.gpl:
        # Loaded only for files: the command that takes plain colours starts faster without it.
        from stash.colour.palette_files import palette_of_gpl

        parts.append(palette_of_gpl(name, request.gpl))
    looks = looks_asked(store, request)
    if looks:
        parts.append(palette_of_appearances(name, looks))
    return parts


def looks_asked(store: Store, request: PaletteRequest) -> list[Appearance]:
    """Give the looks of the scraps, the focus fabric and the photo a request names."""
    looks = [store.scrap(number).appearance for number in request.scraps]
    if request.fabric is not None:
        found = [scrap for scrap in store.scraps() if scrap.fabric == request.fabric]
        if not found:
            raise no_fabric(store, request.fabric)
        looks.append(max(found, key=lambda scrap: scrap.outline.area_sq_in).appearance)
    if request.photo:
        # These load the picture libraries.
        from stash.photo.cards.card import card_of
        from stash.usecases.palettes.colours_of_photo import look_of_photo

        cards = [card_of(known.name, known.body) for known in store.documents("card")]
        looks.append(look_of_photo(request.photo, name=request.photo_name, cards=cards))
    return looks


def _keep(store: Store, palette: Palette, *, seen: Sequence[Document] = (), why: str) -> None:
    document = Document(_KIND, palette.name, palette.to_dict())
    store.keep_document(document, seen=seen, why=why)


def palettes(store: AskedStore) -> tuple[Palette, ...]:
    """Give all palettes, oldest first."""
    return tuple(Palette.from_dict(document.body) for document in store.documents(_KIND))


def palette_named(store: AskedStore, name: str) -> Palette:
    """Give one palette; raises NotFoundError that lists the names there are."""
    return Palette.from_dict(store.document(_KIND, name).body)


@dataclass(frozen=True, slots=True)
class PaletteChange:
    """What to change in a palette; nothing is changed by default.

    Attributes
    ----------
    limits : mapping of str to float
        Limits of the verdicts.
    add : str
        Colours that come to it, in words.
    drop : tuple of str
        Colours that leave it, by the names it shows them by.
    amounts : mapping of str to str
        New amounts (main, some, touch) by those names.
    without, allow : tuple of str
        Families and shades ruled out, and those no longer ruled out.
    neutrals : bool or None
        Whether neutrals are welcome from now on; None leaves it.
    """

    limits: Mapping[str, float] = field(default_factory=dict)
    add: str = ""
    drop: tuple[str, ...] = ()
    amounts: Mapping[str, str] = field(default_factory=dict)
    without: tuple[str, ...] = ()
    allow: tuple[str, ...] = ()
    neutrals: bool | None = None


def change_palette(store: Store, name: str, change: PaletteChange) -> Palette:
    """Change a palette in place and keep it.

    Raises
    ------
    PaletteError
        If a word is not understood, the palette has no such colour, or contradicts itself then.
    """
    document = store.document(_KIND, name)
    palette = Palette.from_dict(document.body)
    for word in change.drop:
        palette = _dropped(palette, word)
    for word, amount in change.amounts.items():
        palette = _reweighed(palette, word, amount)
    palette = _ruling(palette, change)
    if change.add:
        palette = _joined(palette, palette_of_words(name, change.add))
    palette = replace(palette, thresholds=palette.thresholds.changed(change.limits))
    _keep(store, palette, seen=(document,), why=f"changed the palette {name}")
    return palette


def _ruling(palette: Palette, change: PaletteChange) -> Palette:
    """Rule out and allow; and say whether neutrals are welcome."""
    names = {name for word in change.allow for name in _names_allowed(palette, word)}
    without, avoided = _ruled_out(change.without)
    still = (
        tuple(family for family in palette.without if family not in names),
        tuple(shade for shade in palette.avoided if shade.called not in names),
    )
    return replace(
        palette,
        without=tuple(dict.fromkeys((*still[0], *without))),
        avoided=tuple(dict.fromkeys((*still[1], *avoided))),
        neutrals=palette.neutrals if change.neutrals is None else change.neutrals,
    )


def _names_allowed(palette: Palette, word: str) -> Sequence[str]:
    """Give what a word allows again, by the names it stands under."""
    families, shades = ((), ()) if word in palette.ruled_out else ruled_out_by(word)
    names = [word, *families, *(shade.called for shade in shades)]
    if not set(names) & set(palette.ruled_out):
        raise PaletteError(
            f"“{palette.name}” does not rule out “{word}”; ruled out: "
            f"{', '.join(palette.ruled_out) or 'nothing'}."
        )
    return names


def _joined(palette: Palette, more: Palette) -> Palette:
    """Lay what is said in addition to a palette; what is there already gets the new amount."""
    said = {one.called for one in more.families} | {one.called for one in more.targets}
    families = (one for one in palette.families if one.called not in said)
    targets = (one for one in palette.targets if one.called not in said)
    return replace(
        palette,
        families=(*families, *more.families),
        targets=(*targets, *more.targets),
        without=tuple(dict.fromkeys((*palette.without, *more.without))),
        avoided=tuple(dict.fromkeys((*palette.avoided, *more.avoided))),
        not_too=tuple(dict.fromkeys((*palette.not_too, *more.not_too))),
        neutrals=palette.neutrals and more.neutrals,
    )


def _dropped(palette: Palette, word: str) -> Palette:
    _refuse_unknown(palette, word)
    return replace(
        palette,
        families=tuple(one for one in palette.families if one.called != word),
        targets=tuple(one for one in palette.targets if one.called != word),
    )


def _reweighed(palette: Palette, word: str, amount: str) -> Palette:
    _refuse_unknown(palette, word)
    if amount not in set(Amount):
        raise PaletteError(f"“{amount}” is no amount; there are {', '.join(Amount)}.")
    meant = Amount(amount)
    return replace(
        palette,
        families=tuple(
            replace(one, amount=meant) if one.called == word else one for one in palette.families
        ),
        targets=tuple(
            replace(one, amount=meant) if one.called == word else one for one in palette.targets
        ),
    )


def _refuse_unknown(palette: Palette, word: str) -> None:
    parts: list[WantedFamily | Target] = [*palette.families, *palette.targets]
    names = dict.fromkeys(one.called for one in parts)
    if word not in names:
        raise PaletteError(
            f"“{palette.name}” has no colour called “{word}”; it has {', '.join(names)}."
        )


def forget_palette(store: Store, name: str) -> None:
    """Take a palette away, undoably; raises NotFoundError if there is none of that name."""
    store.document(_KIND, name)
    store.delete_document(_KIND, name, why=f"forgot the palette {name}")


def family_beside(palette: Palette, target: Target) -> str:
    """Name a target's family; near a border by the neighbour rather than by one ruled out."""
    name = family_of(target.lab)
    both = (name.family, name.alternative or name.family)
    return next((family for family in both if family not in palette.without), name.family)


def palette_record(palette: Palette, *, explain: bool = False) -> dict[str, object]:
    """Give a palette for programs: its record, with the name and hex colour of each target."""
    record = palette.to_dict()
    record["targets"] = [
        {
            "hex": hex_of_lab(target.lab),
            "lab": [round(v, 2) for v in target.lab],
            "name": target.label,
            "family": family_beside(palette, target),
            "amount": target.amount.value,
        }
        for target in palette.targets
    ]
    if explain:
        record["limits"] = [
            {"name": name, "value": value, "meaning": meaning}
            for name, value, meaning in palette.thresholds.explained()
        ]
    return record
