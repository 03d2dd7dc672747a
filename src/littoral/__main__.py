"""`python -m littoral` is the command line."""

from littoral.cli import main

main()
