"""The proposal pack of a plan: what it says as data, and the files that say it. Nothing here computes a plan."""
