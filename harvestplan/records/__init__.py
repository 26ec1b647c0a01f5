"""What really happened in the season: the diary."""
