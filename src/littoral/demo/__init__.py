"""The invented scenario and the renderer of its photos."""
