"""The pieces of the page of the market."""
