"""The house as solids, and routes placed in it. Knows shapes and nouns, not clauses."""
