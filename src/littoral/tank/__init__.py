"""Net volume and the mass balance of what is in the water."""
