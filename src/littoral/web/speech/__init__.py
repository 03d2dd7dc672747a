"""In which language and units the pages speak to each visitor, and where that is chosen."""
