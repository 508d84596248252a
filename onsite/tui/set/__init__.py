"""The set: slates shot, frames landing."""
