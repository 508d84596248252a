"""Door: checking people in.

Begin with `door_screen.DoorScreen`.
"""
