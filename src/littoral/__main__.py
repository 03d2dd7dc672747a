"""`python -m littoral` is the command line."""

from littoral.cli.main import main

main()
