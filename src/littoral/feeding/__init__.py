"""Bottles, regimes, the calendar of doses, what each dose adds, and what it costs."""
