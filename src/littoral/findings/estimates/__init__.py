"""Levels between tests: the mass balance fitted to a trial's entries and readings, and what follows from it."""
