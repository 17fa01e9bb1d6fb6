"""Use cases of the haul engine: gather, decide, save."""
