"""Set: slates to show, frames as they land, warnings.

Begin with `set_screen.SetScreen`.
"""
