"""What a plan looks like on paper. Knows lines and lettering, not how routes are found."""
