"""The page: HTTP in, page or JSON out."""
