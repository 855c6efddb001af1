"""Several benches, one record: what is committed here is shipped there, and what others shipped is fetched to read."""
