"""Parts of the page 'The first week'."""
