"""What to buy and how to cut it. Knows parts and prices, not physics."""
