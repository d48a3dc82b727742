"""How sure an answer is."""
