"""Property tests draw the same examples on every machine; the profile says how many: a few, or many when thorough."""

from hypothesis import settings

settings.register_profile("edgestore", derandomize=True, deadline=None, max_examples=25)
settings.register_profile("thorough", settings.get_profile("edgestore"), max_examples=200)
settings.load_profile("edgestore")
