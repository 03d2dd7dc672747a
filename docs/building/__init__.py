"""Builds the documentation: pages made from the program itself, pictures of it, and the site that holds them."""
