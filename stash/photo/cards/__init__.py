"""Reference cards: which lie in a photo, where, and what their squares read."""
