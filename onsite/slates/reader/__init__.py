"""The slate reader: finds the QR symbols of slates in a picture and reads their codes.

Begin with `read_slates.read_symbols`; `closed_set.known_slates` makes the set of codes it compares with.
README.md explains the stages.
"""
