"""Pixels to inches on the table, with an error that grows away from the card."""
