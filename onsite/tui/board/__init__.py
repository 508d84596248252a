"""The board: everybody with their stage."""
