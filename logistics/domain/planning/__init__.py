"""The haul engine: which truck drives which loads when; `planner.plan_hauls`."""
