"""The same work on one core, on all of them, or on other machines; the result is the same."""
