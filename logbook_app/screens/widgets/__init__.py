"""Thin widgets in the chart look. Each module runs on its own with demo data."""
