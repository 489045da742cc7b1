"""The nouns: frozen, checked when made, no files. Everything is SI; directions are unit vectors."""
