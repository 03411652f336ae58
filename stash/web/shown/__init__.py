"""Scraps, photos and quilts as a page shows them."""
