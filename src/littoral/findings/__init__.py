"""From a logbook to findings: effect, interval, evidence and wording."""
