"""Physics applied to records: one dive, the dives before it, the time between dives."""
