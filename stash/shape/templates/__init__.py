"""Templates: finished shapes, their seam allowance, and which turns a piece may take."""
