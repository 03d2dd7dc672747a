"""Single pictures to publish: pairs, rows of days, the twin still, charts; each with words for who cannot see it."""
