"""Use cases of the market: gather, decide, save."""
