"""Files in and out. Knows formats, not meaning."""
