"""Which scraps can go in a quilt, and at which size."""
