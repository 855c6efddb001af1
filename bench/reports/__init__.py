"""The certificate and the sheets."""
