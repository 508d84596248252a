"""People's data: where it lies, how a person is forgotten, and until when data may be kept.

Begin with `forget_person.forget_person`.
"""
