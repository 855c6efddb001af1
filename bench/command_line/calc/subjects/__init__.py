"""One subject a module: the module's name is the subject's, and it has a SUBJECT."""
