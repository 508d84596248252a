"""Files: safe names, harmless tables, atomic writes, locks, limits on input, and the program's resources.

Begin with `atomic_write.atomic_file` and `write_tables`; `file_names` and `file_name_pattern` make names.
"""
