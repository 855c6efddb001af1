"""Pure arithmetic of the trade on plain numbers, one subject a file."""
