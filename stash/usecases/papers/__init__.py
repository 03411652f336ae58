"""Sheets to cut, sew and finish from."""
