"""Formulas, salts, fertiliser labels, stock solutions and nutrients."""
