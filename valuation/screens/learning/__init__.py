"""The pieces of the page of learning."""
