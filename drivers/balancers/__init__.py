"""Readers of the plain text that balancing machines print."""
