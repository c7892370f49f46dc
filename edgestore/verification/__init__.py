"""Outside check values as data, and the runner that recomputes them."""
