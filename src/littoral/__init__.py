"""Littoral: controlled trials in planted freshwater tanks, from the question to the published answer."""

__version__ = "0.1.0"
