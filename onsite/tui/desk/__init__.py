"""Desk: the work after the shoot.

Begin with `desk_screen.DeskScreen`.
"""
