"""Finds routes. Knows moves and cost, not gas, clauses or files."""
