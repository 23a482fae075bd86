"""The pieces of the page of work and price."""
