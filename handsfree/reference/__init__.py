"""Look-ups in published tables, and properties of refrigerants and nitrogen."""
