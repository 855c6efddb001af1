"""The append-only trail: events, chain, store and the fold to a job's state."""
