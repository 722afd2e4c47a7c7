"""Drawings as plain geometry, for page and paper alike."""
