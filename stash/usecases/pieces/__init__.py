"""What scraps give of a piece: whether, how large, how many."""
