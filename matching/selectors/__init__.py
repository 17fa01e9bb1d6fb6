"""Rows of the market as the values that it computes with."""
