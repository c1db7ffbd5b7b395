"""The record: what a diver writes down, what a recorder wrote, and what is odd about either."""
