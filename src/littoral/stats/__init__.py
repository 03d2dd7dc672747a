"""Pure functions on arrays: growth rates, paired series, intervals."""
