"""The pieces of the page with the client."""
