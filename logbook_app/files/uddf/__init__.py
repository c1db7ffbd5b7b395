"""UDDF, the Universal Dive Data Format: an open, documented exchange format for dives."""
