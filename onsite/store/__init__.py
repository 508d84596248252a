"""A shoot's folder with its settings, its database and its event log.

Begin with `shoot.open_shoot`; `schema` has the tables, `events` reads and appends events, and
`event_projections` keeps what readers ask of them.
"""
