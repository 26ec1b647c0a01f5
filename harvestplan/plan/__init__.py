"""The models of a plan, and the file that holds it."""
