"""The only room that writes: entries, originals, migrations."""
