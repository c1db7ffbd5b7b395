"""What the sea and the gas do to a diver: numbers in, numbers out.

Nothing here opens a file, asks the clock or knows a date. Pressures are absolute and in bar, depths in
metres, times in minutes (a recording's own clock in seconds), shares of a gas as fractions. Arrays of
samples have shape (n,), tissues (n, 16) in the order of `compartments.ZHL16C`.
"""
