"""The open data package of a trial: tables with their schemas, read and written by anyone; see docs/reference."""
