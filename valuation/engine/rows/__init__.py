"""The rows of the tables that the engine reads, typed; one class a table, each column described beside its field."""
