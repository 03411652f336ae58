"""Photos into scraps, with the cards they are read by."""
