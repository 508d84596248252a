"""Desk: the work after the shoot, choosing pictures, returned files that are held.

Begin with `desk_screen.DeskScreen`.
"""
