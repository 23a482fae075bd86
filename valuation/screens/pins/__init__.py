"""The pieces of the page of tuning pins."""
