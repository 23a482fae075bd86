"""Is an old piano worth it? From what was found on it to a verdict that explains itself."""
