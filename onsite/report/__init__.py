"""The report after a shoot, for the client or as the photographer's books: an HTML page, CSV or JSON.

Begin with `write_report.write_report`.
"""
