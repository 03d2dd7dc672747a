"""Charts, sheet, film and findings.json."""
