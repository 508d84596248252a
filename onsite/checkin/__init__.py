"""The door: check-in, walk-ins, corrections, deck cards, scanned codes and the waiting queue.

Begin with `check_in.check_in` and `walk_ins_and_corrections.add_walk_in`.
"""
