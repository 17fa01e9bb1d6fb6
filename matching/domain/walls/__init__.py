"""Walls: their shape, what they hold, and what a drawing of them needs."""
