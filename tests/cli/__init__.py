"""The command line, run as a person runs it."""
