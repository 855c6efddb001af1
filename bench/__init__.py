"""spinledger: the bench assistant. Subpackages are told in DEVELOPERS.md."""

__version__ = "0.1.0"
