"""What every mode can open: the slate full screen, help, a question, picking somebody."""
