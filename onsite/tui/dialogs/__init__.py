"""Dialogs that every mode can open: a slate full screen, help, questions, choosing a person, a history.

Each module holds one or a few screens.
"""
