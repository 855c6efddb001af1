"""Foreign drivers: each runs in a process of its own, and what it says is checked before anybody believes it."""
