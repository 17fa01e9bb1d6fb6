"""Sharing a common cost: cooperative cost games."""
