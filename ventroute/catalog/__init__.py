"""Reads the tables in catalogs/. Knows columns, not their meaning."""
