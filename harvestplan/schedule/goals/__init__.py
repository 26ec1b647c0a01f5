"""What a season plan is worth: each goal as the solver sees it, and recomputed."""
