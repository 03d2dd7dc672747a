"""Proof that what is handed out is what was built: packages, versions, licences, coverage, mutants."""
