"""What a person can do, one imperative a file."""
