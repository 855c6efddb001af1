"""Instruments: bytes in, readings out. No port is known to a driver, no driver to a port."""
