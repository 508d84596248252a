"""The roster: reading and merging the client's lists, finding people, consent to publication.

Begin with `load_list.load_list`, `person_lookup.resolve_person` and `publication.decide_publication`.
"""
