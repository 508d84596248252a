"""What people outside the team read: pages, mails and papers, in their own language.

One catalogue a language, in the syntax of Project Fluent 1.0 (`*.ftl`, plain text). A further language is a
further file and its code in `languages.CATALOGUES`. The program's own screens speak English.
"""
