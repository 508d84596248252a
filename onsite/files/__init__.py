"""Files that leave the shoot: their names, their cells, and writing them whole or not at all."""
