"""Questions, arms, tanks, stands and views: the trial as a person wrote it."""
