"""Pure functions on pixels: decode, correct, align, segment, measure."""
