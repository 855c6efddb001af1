"""Links carry bytes: serial ports, watched folders, files, recordings."""
