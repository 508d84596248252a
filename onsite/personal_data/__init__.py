"""People's data: where it lies, and how a person is forgotten.

Begin with `forget_person.forget_person`.
"""
