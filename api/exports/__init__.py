"""A stored plan as files to take along: maps, calendars, tables, sheets and tickets.

The makers are pure: a `Book` in, bytes out; only the doors know requests and storage.
"""
