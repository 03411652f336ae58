"""A quilt from its plan to its last cut piece."""
