"""SQLite through SQLAlchemy, photo files beside."""
