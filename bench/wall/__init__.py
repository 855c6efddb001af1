"""The bench on a wall screen: one live page that only looks, served from a process of its own."""
