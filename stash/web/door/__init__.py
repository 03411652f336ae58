"""Who may ask, and what is taken from a sender."""
