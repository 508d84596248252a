"""What every other package uses: codes, colour signatures, frame references, file counters,
times, text, JSON, progress, errors.

Imports no other package of onsite. Begin with `errors.Problem`, the exception for bad input.
"""
