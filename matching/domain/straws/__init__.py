"""Straw: bales, moisture, whether it makes a wall, and how to keep it."""
