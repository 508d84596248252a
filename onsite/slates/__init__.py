"""Slates and tickets: drawn for paper, pictures and the terminal, and read back from frames (`reader`).

Begin with `slate_image.write_images`, `ticket_pdf.write_tickets` and `reader.read_slates.read_symbols`.
"""
