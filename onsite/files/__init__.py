"""Files that leave the shoot: safe names, tables of harmless cells, and atomic writes.

Begin with `atomic_write.atomic_file` and `write_tables`; `file_names` and `file_name_pattern` make names.
"""
