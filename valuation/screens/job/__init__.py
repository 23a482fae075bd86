"""The pieces of the pages of jobs."""
