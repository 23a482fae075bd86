"""The pieces of the page of papers."""
