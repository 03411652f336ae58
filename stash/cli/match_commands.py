"""What can go in a quilt, and what clashes."""

from __future__ import annotations

import typer

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add these commands to the app."""
