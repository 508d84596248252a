"""Files: safe names, tables, atomic writes, verified copies, locks, limits on input, the program's resources.

Begin with `atomic_write.atomic_file` and `write_tables`; `file_names` and `file_name_pattern` make names.
"""
