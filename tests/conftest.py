"""Property tests draw the same examples on every machine, and none fails for being slow."""

from hypothesis import settings

settings.register_profile("edgestore", derandomize=True, deadline=None)
settings.load_profile("edgestore")
