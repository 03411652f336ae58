"""What holds unless a command is told otherwise: unit, paper, stash folder, card, seam."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from stash.cli.contents import WORDS
from stash.errors import SettingsFileError, SettingValueError, UnitError
from stash.units import parse_length

__all__ = ["SETTINGS", "changed_settings", "defaults_for", "read_settings", "settings_path"]


def defaults_for(words: Sequence[str]) -> dict[str, Any] | None:
    """Give the settings in the form in which the command line takes defaults.

    What stands on the command line goes before them, and so does ``STASH_HOME``.

    Raises
    ------
    SettingsFileError
        If the file cannot be understood; not for ``stash settings``, which can mend it.
    """
    if not words or words[0] not in WORDS or words[0] == "settings" or "--help" in words:
        return None
    values = read_settings()
    if "seam" in values:
        values["seam_allowance"] = values["seam"]
    # A command finds them under its name, a group's under the group's name and then its own.
    within: dict[str, Any] = dict.fromkeys((*words[1:2], "look"), values)
    return {words[0]: {**within, **values}} if values else None


def settings_path() -> Path:
    """Give the settings file: ``STASH_SETTINGS``, or one in this user's folder for settings."""
    if named := os.environ.get("STASH_SETTINGS"):
        return Path(named)
    import platformdirs  # only when no file is named

    return Path(platformdirs.user_config_dir("stash", appauthor=False)) / "settings.toml"


def read_settings() -> dict[str, str]:
    """Read the settings; none where there is no file.

    Raises
    ------
    SettingsFileError
        If the file cannot be read, is no TOML, or holds what is no setting; says where.
    """
    path = settings_path()
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as problem:
        raise SettingsFileError(path, "it cannot be read") from problem
    import tomllib  # only where somebody has settings

    try:
        given = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise SettingsFileError(path, f"it is no TOML ({problem})") from problem
    try:
        return {name: _checked(name, value) for name, value in given.items()}
    except (SettingValueError, UnitError) as problem:
        raise SettingsFileError(path, str(problem).rstrip(".")) from problem


def changed_settings(given: Mapping[str, str]) -> dict[str, str]:
    """Change settings, an empty value taking one away; gives what holds now.

    Raises
    ------
    SettingsFileError
        If something is no setting, or the file cannot be written.
    """
    path = settings_path()
    new = {name: _checked(name, value) for name, value in given.items() if value}
    try:
        kept = read_settings()
    except SettingsFileError:
        kept = {}  # what is broken is replaced
    kept = {name: value for name, value in kept.items() if name not in given} | new
    # A string of JSON is one of TOML as well (TOML 1.0, Strings).
    lines = [f"{name} = {json.dumps(value, ensure_ascii=False)}\n" for name, value in kept.items()]
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("".join(lines), encoding="utf-8")
    except OSError as problem:
        raise SettingsFileError(path, "it cannot be written") from problem
    return kept


def _checked(name: str, value: object) -> str:
    if name not in SETTINGS:
        raise SettingValueError(f"“{name}” is no setting; there are {', '.join(SETTINGS)}.")
    if not isinstance(value, str) or not value.strip():
        raise SettingValueError(f'{name} wants a text in quotes, such as {name} = "...".')
    return SETTINGS[name][0](value.strip())


def _one_of(*known: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if text.lower() not in known:
            raise SettingValueError(f"“{text}” is not one of {', '.join(known)}.")
        return text.lower()

    return read


def _seam(text: str) -> str:
    parse_length(text)
    if text.rstrip("⅛¼½¾⅜⅝⅞")[-1:].isdigit() or not text[-1:].isalpha():
        return f"{text} in"  # else it would be another length with --unit cm
    return text


# How a value is read, and what it is for.
SETTINGS: dict[str, tuple[Callable[[str], str], str]] = {
    "unit": (_one_of("in", "cm"), "lengths are shown and read in"),
    "paper": (_one_of("letter", "a4"), "what sheets are printed on"),
    "home": (lambda text: str(Path(text).expanduser().absolute()), "the stash folder"),
    "card": (str, "the reference card on photos, instead of the newest"),
    "seam": (_seam, "seam allowance"),
}
