"""Property tests here have no time limit per example: the first to ask for a year of holidays pays for it."""

from hypothesis import settings

settings.register_profile("rules", deadline=None)
settings.load_profile("rules")
