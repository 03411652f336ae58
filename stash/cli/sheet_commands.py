"""Sheets for the cutting table and the sewing machine."""

from __future__ import annotations

import typer

__all__ = ["register", "register_quilt"]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""


def register_quilt(quilt: typer.Typer) -> None:
    """Add the sheets of one quilt to its commands."""
