"""Starting: the first trial from three answers, a further one from a trial that is there."""
