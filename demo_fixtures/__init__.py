"""One invented scenario, and what drew its map."""
