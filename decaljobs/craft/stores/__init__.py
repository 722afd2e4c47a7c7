"""What lies in the stores, and what decals cost."""
