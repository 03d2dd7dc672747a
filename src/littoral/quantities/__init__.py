"""Amounts with units: parsing what a person types, printing what a person reads."""
