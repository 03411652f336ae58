"""What a cloth looks like, as numbers by which another piece of it is known again."""
