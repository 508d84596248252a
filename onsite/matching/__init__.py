"""Names for frames: from evidence to runs to a verdict on every frame. Pure: no files, no database, no clock.

Begin with `match_frames.match`, which takes `evidence.Evidence`; README.md lists the rules in their order.
"""
