"""Mix a bottle, build water, plan a week, see costs: one form in, one result out, the same for page and command."""
