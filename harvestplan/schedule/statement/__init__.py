"""The season's decision stated in whole numbers, free of any solver."""
