"""How time and memory grow with a logbook: from ten days to a thousand, from two tanks to a hundred."""
