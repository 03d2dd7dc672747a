"""In which language and units Littoral speaks to a person: sentences, counts, numbers, dates, money."""
