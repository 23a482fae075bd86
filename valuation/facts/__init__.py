"""What can be known of a piano, a visit, a client: values without behaviour, their units, how a table's column is told.

What for: the words that every other room speaks. May import: the standard library. Never: tables, screens, storage.
"""
