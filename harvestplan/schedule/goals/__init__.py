"""What a season plan is worth: each part of it as the solver sees it, and recomputed."""
