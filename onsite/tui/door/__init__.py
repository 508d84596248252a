"""The door: who has arrived."""
