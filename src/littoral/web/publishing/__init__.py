"""The page to publish from: choose, look before, let it be made, and take it away."""
