"""Clauses with sources, applied to a route. Knows neither the search nor the gas."""
