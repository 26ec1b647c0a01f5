"""Looks ahead with the planner: what would be if something were otherwise."""
