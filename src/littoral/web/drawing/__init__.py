"""Drawing views in the browser."""
