"""Names for frames: shooting order, clocks, slates and looks become runs, names, warnings and suggestions.

Pure: no files, no database, no clock; what it needs of the day is in its evidence and statistics.

Begin with `match_frames.match`, which takes `evidence.Evidence`; README.md lists the rules in their order.
"""
