"""When and how much each planting yields, with its spread."""
