"""Dialogs that every mode can open: a slate full screen, help, questions, people, backups.

Each module holds one or a few screens.
"""
