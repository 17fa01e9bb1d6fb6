"""Offers, builds and needs: what fits, what it makes of a wall, who supplies whom."""
