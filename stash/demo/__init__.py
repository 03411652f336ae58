"""Invented scenes with known truth."""
