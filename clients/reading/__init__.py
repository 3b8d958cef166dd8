"""Opens a film file and measures it: the only room of the desk that decodes video."""
