"""The haul engine: quantities, trucks, roads, loads, shifts and what they cost."""
