"""Commands: parse, call, print. Nothing is computed here."""
