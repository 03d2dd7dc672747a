"""Alembic migrations of the logbook's database, run from code: there is no alembic.ini."""
