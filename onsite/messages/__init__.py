"""Messages to people outside the team, in their language: pages, mails and papers. Begin with
`message_catalogue`.

Each language has one catalogue in the syntax of Project Fluent 1.0 (`*.ftl`, plain text). To add a language,
add a file and its code in `languages.CATALOGUES`. The program's own screens are in English.
"""
