"""The REST interface under /api/v1/."""
