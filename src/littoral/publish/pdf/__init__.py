"""What is printed: the label of a bottle and a shopping list, set by typst, the same bytes for the same data."""
