"""Status: everybody's stage, forecast, history; what each batch waits for; checks of machine and shoot.

Begin with `read_status.read_everybody` and `person_status`; screens keep a `status_cache.StatusCache`.
"""
