"""One function per thing a person does; only here a transaction begins."""
