"""Run the command line by ``python -m roadwatch``."""

from roadwatch.cli import main

main(prog_name="roadwatch")
