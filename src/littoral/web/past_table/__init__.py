"""Taking in a table of past records in the browser: the file, what its columns mean, the confirmation."""
