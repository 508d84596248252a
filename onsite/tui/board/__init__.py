"""Board: everybody with their stage.

Begin with `board_screen.BoardScreen`.
"""
