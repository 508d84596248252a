"""Picks: the pictures people choose, read from any file or mail, recorded and marked; reminders.

Begin with `load_picks.load_picks`; `record_picks.add_picks` takes picks as typed. See README.md here.
"""
