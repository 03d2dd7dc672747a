"""A table of past records, as a spreadsheet or a sensor wrote it: read, understood, made into entries."""
