"""Counts of things in words, in the language in force."""

from __future__ import annotations

from littoral.speech.say import counted as counted
