"""Results under sliders, one question a module, all on the frame of ``frame.py``. No panel computes."""
