"""Faults done to a logbook, and what is left of it: crashes, power cuts, full disks, many writers at once."""
