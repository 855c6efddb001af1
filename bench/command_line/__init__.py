"""Arguments, exit codes, plain lines, settings and the wiring of concrete parts."""
