"""Every command of the program by its everyday name: a form, a run with progress, and its result.

Begin with `palette_command.PaletteCommand`, which is made from the commands of the command line.
"""
