"""Give a growth test its answer: the table read cell by cell, the numbers worked out, the result as plain data."""
