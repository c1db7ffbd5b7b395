"""Numbers in, numbers out: pressure, breathing gas, tissue loading, oxygen, ascent."""
