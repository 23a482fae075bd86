"""The pieces of the page of people's data."""
