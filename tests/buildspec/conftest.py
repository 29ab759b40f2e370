"""No deadline on random examples: how long one takes says more about the machine than about us."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
