"""The steps of the talk with the client, one module each, and what stands around them."""
