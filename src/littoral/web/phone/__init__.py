"""Littoral on a phone: installable, at hand without a connection, with a camera."""
