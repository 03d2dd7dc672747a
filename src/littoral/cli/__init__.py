"""The command line: argv in, text out."""
