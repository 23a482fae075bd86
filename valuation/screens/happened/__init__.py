"""The pieces of the page of what happened."""
