"""onsite: from the client's list of people to every frame under the right name."""

__version__ = "0.1.0"
