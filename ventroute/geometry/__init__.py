"""Shapes and distances on arrays. No word of the trade in here."""
