"""Pictures of soils, mixes, walls and calendars: drawing data with a text alternative."""
