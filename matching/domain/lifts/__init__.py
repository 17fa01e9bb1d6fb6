"""How walls grow: lifts on a calendar, the dated needs they make, and room for the heaps."""
