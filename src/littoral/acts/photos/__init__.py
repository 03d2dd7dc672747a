"""Photos: taken in many at once, listed with what is doubtful about them, and decided about."""
