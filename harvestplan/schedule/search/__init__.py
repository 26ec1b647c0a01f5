"""How a good plan is looked for, and how its bound is proven."""
