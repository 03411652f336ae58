"""What lies on the table: the backing, the scraps on it, and what is neither."""
