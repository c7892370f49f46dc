"""Is a card what its label says: a check of a mounted card, in a folder of its own.

``pattern`` is what is written, ``own_folder`` the only files that are touched, ``fill`` writes and reads all,
``probes`` a few places, ``pace`` times small updates and a camera's own writes, ``check`` does all of it in order.
"""
