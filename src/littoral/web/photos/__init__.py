"""Photos in the browser: many taken in at once, and decided about."""
