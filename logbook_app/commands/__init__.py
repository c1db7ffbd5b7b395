"""The command line: the same logbook without a screen."""
