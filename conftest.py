"""What pytest loads before everything else: the plugin of the notebooks, without what only slows it down."""

import sys

# With it jsonschema would check addresses with letters beyond ASCII, of which a notebook has none; it compiles 38
# grammars for that when it is imported, 3 s of CPU in each process.
sys.modules["rfc3987_syntax"] = None

pytest_plugins = ["nbval.plugin"]
