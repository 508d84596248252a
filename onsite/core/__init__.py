"""What every other package uses: slate and pick codes, file counters, times, text, errors.

Imports no other package of onsite. Begin with `errors.Problem`, the exception for bad input.
"""
