"""From accepted pictures to finished files in the client's hands; and picks marked for the raw developer."""
