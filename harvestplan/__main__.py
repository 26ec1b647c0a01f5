"""`python -m harvestplan`."""

from harvestplan.commands.cli import main

main()
