"""The roster: reading, previewing and merging lists with their columns, looking people up, consent.

Begin with `load_roster.load_list`, `person_lookup.resolve_person` `publication_consent.decide_publication`.
"""
