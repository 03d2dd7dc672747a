"""The page of a trial's levels: what is in the water between tests, what is to come, and what if."""
