"""Scraps looked over, put in order, drawn and put right by hand."""
