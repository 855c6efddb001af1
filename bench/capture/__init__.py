"""Pure state machines between what instruments say and what is recorded."""
