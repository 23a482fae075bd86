"""Results into words, numbers for people, and the public JSON. Pure: knows the core, draws nothing, reads nothing."""
