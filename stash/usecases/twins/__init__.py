"""What may be one cloth: known again, asked once, answered for ever."""
