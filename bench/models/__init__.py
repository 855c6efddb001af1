"""Values that all layers share: pydantic models without behaviour of their own."""
