"""Care at the bench over HTTP: today's list, entry forms, the stream of entries, the audit, calendar and bench card."""
