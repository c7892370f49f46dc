"""A site: cameras and cards joined into a plan, with reasons."""
