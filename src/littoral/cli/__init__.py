"""The command line: argv in, text out. Heavy rooms are imported only inside the command that needs them."""
