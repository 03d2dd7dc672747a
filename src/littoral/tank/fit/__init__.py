"""Levels, net removal and kit bias fitted to coarse readings; what the levels will do, and which test to do."""
