"""Physics and trade rules of the kitchen: how much goes into a pot, a pouch, a cycle, a night."""
