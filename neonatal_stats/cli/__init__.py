"""The command line: parse, call, print, exit code. It begins in `start`."""
