"""Sheets for the cutting table and the sewing machine."""

from __future__ import annotations

import typer

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
