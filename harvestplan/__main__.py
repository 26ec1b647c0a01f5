"""`python -m harvestplan`."""

from harvestplan.cli import main

main()
