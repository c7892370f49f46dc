"""The world comes in: lists and files -> checked, typed rows, or every fault at once. Nothing is written."""
