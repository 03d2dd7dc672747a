"""A growth test in vessels: doses against a control, after OECD 221 and 239, with the vessel as the unit."""
