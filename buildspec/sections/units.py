"""The section `units`: which unit system is printed first. It is a word, not a mapping."""

from buildspec.kinds import System as Units

__all__ = ["Units"]
