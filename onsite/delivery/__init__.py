"""Delivery: finished files made from accepted pictures, packed for the client, groups, people or a yearbook.

Begin with `deliver.deliver_pictures`; see README.md beside this file.
"""
