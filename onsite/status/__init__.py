"""Status: the stage of every person, derived from the record. Also what waits, the forecast, and histories.

Begin with `read_status.read_everybody` and `person_status`; screens keep a `status_cache.StatusCache`.
"""
