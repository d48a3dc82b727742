"""The lobe: from a law, a card or readings, and its place on the crank."""
