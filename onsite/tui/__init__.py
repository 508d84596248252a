"""The screens: a Textual app with five modes on one shoot.

Begin with `app.OnsiteApp`; README.md explains threads, drawing, pictures and themes.
"""
